// SPDX-License-Identifier: MIT
#include "core/storm.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::core;
using namespace std::chrono_literals;

namespace {

/// When, after the first edge, the storm was noticed; `never` if not within `length`.
Instant noticed(Duration gap, Duration length) {
    Storm storm;
    for (Duration at{}; at <= length; at += gap) {
        if (storm.count(Instant(7s) + at, 1)) {
            return Instant(at);
        }
    }
    return never;
}

}  // namespace

TEST_CASE("more than 2,000 edges a second for 2 s is a storm, then and not before") {
    CHECK(noticed(400us, 1s) == never);
    CHECK(noticed(400us, 10s) == Instant(2s));
}

TEST_CASE("2,000 edges a second for ever are no storm") {
    CHECK(noticed(500us, 60s) == never);
}

TEST_CASE("bursts of one second with a pause of two between are no storm") {
    Storm storm;
    bool any = false;
    for (int burst = 0; burst < 20; ++burst) {
        for (int edge = 0; edge < 5'000; ++edge) {
            any = any || storm.count(Instant(burst * 3s + edge * 200us), 1);
        }
    }
    CHECK_FALSE(any);
}

TEST_CASE("edges that were thrown away or lost count as well") {
    Storm storm;
    CHECK_FALSE(storm.count(Instant(1s), 2'500));
    CHECK_FALSE(storm.count(Instant(2s), 2'500));
    CHECK(storm.count(Instant(3s), 1));
}
