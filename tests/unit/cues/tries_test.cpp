// SPDX-License-Identifier: MIT
#include "daemon/cues/tries.hpp"

#include <vector>

#include <catch2/catch_test_macros.hpp>

namespace nightlatch::cues {
namespace {

using namespace std::chrono_literals;

constexpr Instant start{1000s};

TEST_CASE("tries come soon at first, then slower, and end with one telling", "[led]") {
    Tries tries{Patience{3s, 10s}};
    Instant now = start;
    std::vector<Duration> gaps;
    Tries::Next next = tries.failed(now);
    while (next.at != never) {
        CHECK_FALSE(next.tell);
        gaps.push_back(next.at - now);
        now = next.at;
        next = tries.failed(now);
    }
    CHECK(next.tell);
    CHECK(gaps == std::vector<Duration>{10ms, 20ms, 40ms, 80ms, 160ms, 320ms, 640ms, 1s, 1s});
    CHECK(tries.failing());
}

TEST_CASE("what has been told is neither told again nor tried again before the pause", "[led]") {
    Tries tries{Patience{0s, 10s}};
    REQUIRE(tries.failed(start).tell);
    CHECK(tries.allowed(start + 1s) == start + 10s);
    CHECK(tries.allowed(start + 12s) == start + 12s);
    const Tries::Next again = tries.failed(start + 12s);
    CHECK_FALSE(again.tell);
    CHECK(again.at == never);
    CHECK(tries.allowed(start + 13s) == start + 22s);
}

TEST_CASE("success ends the episode, and says whether it had been told", "[led]") {
    Tries tries{Patience{1s, 10s}};
    CHECK_FALSE(tries.succeeded());
    CHECK_FALSE(tries.failed(start).tell);
    CHECK(tries.failing());
    CHECK_FALSE(tries.succeeded());
    CHECK_FALSE(tries.failing());

    tries.failed(start + 5s);
    REQUIRE(tries.failed(start + 6s).tell);
    CHECK(tries.succeeded());
    CHECK_FALSE(tries.failing());
    CHECK(tries.allowed(start + 6s) == start + 6s);
    CHECK(tries.failed(start + 20s).at == start + 20s + 10ms);  // patience anew
}

TEST_CASE("progress brings patience anew, but not a second telling", "[led]") {
    Tries tries{Patience{0s, 10s}};
    REQUIRE(tries.failed(start).tell);
    tries.progressed();
    CHECK_FALSE(tries.failing());
    CHECK(tries.allowed(start + 1s) == start + 1s);
    CHECK_FALSE(tries.failed(start + 1s).tell);
    CHECK(tries.succeeded());
}

}  // namespace
}  // namespace nightlatch::cues
