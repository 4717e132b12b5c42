// SPDX-License-Identifier: MIT
#include "daemon/guard/release_wait.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace std::chrono_literals;
using guard::ReleaseWait;
using Verdict = guard::ReleaseWait::Verdict;

namespace {

constexpr Instant start{100s};
constexpr Instant until = start + 20s;

}  // namespace

TEST_CASE("a button that is released from the start is waited for one interval long", "[guard]") {
    ReleaseWait wait(160ms, until);
    wait.sample(start, Level::inactive);
    CHECK(wait.deadline() == start + 160ms);
    CHECK(wait.verdict(start + 160ms - 1ns) == Verdict::wait);
    CHECK(wait.verdict(start + 160ms) == Verdict::released);
}

TEST_CASE("a held button is waited for until it is let go", "[guard]") {
    ReleaseWait wait(160ms, until);
    wait.sample(start, Level::active);
    CHECK(wait.deadline() == until);
    CHECK(wait.verdict(start + 10s) == Verdict::wait);
    wait.sample(start + 10s, Level::inactive);
    CHECK(wait.deadline() == start + 10s + 160ms);
    CHECK(wait.verdict(start + 10s + 160ms) == Verdict::released);
}

TEST_CASE("bounces start the interval again, and so does an equal sample", "[guard]") {
    ReleaseWait wait(160ms, until);
    wait.sample(start, Level::active);
    wait.sample(start + 1s, Level::inactive);
    wait.sample(start + 1100ms, Level::active);
    CHECK(wait.verdict(start + 1200ms) == Verdict::wait);
    wait.sample(start + 1200ms, Level::inactive);
    wait.sample(start + 1300ms, Level::inactive);
    CHECK(wait.verdict(start + 1360ms) == Verdict::wait);
    CHECK(wait.deadline() == start + 1460ms);
    CHECK(wait.verdict(start + 1460ms) == Verdict::released);
}

TEST_CASE("a button that is never let go is given up at the limit, not later", "[guard]") {
    ReleaseWait wait(160ms, until);
    wait.sample(start, Level::active);
    CHECK(wait.verdict(until - 1ns) == Verdict::wait);
    CHECK(wait.verdict(until) == Verdict::gave_up);
}

TEST_CASE("no wait goes beyond the limit, whatever bounces", "[guard]") {
    ReleaseWait wait(160ms, until);
    for (Instant at = start; at < until; at += 100ms) {
        wait.sample(at, Level::inactive);
        REQUIRE(wait.deadline() <= until);
        REQUIRE(wait.verdict(at + 100ms - 1ns) == Verdict::wait);
    }
    CHECK(wait.verdict(until) == Verdict::gave_up);
}

TEST_CASE("before the first sample the button is not known to be released", "[guard]") {
    const ReleaseWait wait(0ms, until);
    CHECK(wait.verdict(start) == Verdict::wait);
}
