// SPDX-License-Identifier: MIT
#include "property/random_line.hpp"
#include "property/sweep.hpp"

#include <algorithm>
#include <iostream>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::core;
using namespace nightlatch::test;

TEST_CASE("core and model agree on random lines under random settings", "[random]") {
    Dice dice(seed_for("random lines"));
    const int count = shortened ? 10'000 : 300'000;
    Swept seen;
    for (int i = 0; i < count; ++i) {
        Settings settings = random_settings(dice);
        if (dice.one_in(2)) {
            // Without intervals much happens at the one instant at which the line is let go.
            settings.press_interval = std::max<Duration>(settings.press_interval, 1ms);
            settings.release_interval = std::max<Duration>(settings.release_interval, 1ms);
            settings.limits = impatient_limits(dice);
        }
        const model::Line line = random_line(dice, settings, 40);
        const bool refuse = dice.one_in(2);
        const std::string wrong = difference(
            settings, line, refuse ? model::Reply::refused : model::Reply::silence, &seen);
        if (!wrong.empty()) {
            FAIL(wrong);
        }
    }
    std::cout << seen.lines << " lines, " << seen.requests << " requests, " << seen.near_misses
              << " near misses, " << seen.call_offs << " call-offs, " << seen.stuck << " stuck, "
              << seen.unreadable << " unreadable" << std::endl;
    CHECK(seen.requests > static_cast<std::uint64_t>(count) / 10);
    CHECK(seen.call_offs > static_cast<std::uint64_t>(count) / 100);
    CHECK(seen.stuck > static_cast<std::uint64_t>(count) / 100);
    CHECK(seen.unreadable > static_cast<std::uint64_t>(count) / 10);
}
