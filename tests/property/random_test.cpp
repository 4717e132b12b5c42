// SPDX-License-Identifier: MIT
#include "property/random_line.hpp"
#include "property/sweep.hpp"

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
        const Settings settings = random_settings(dice);
        model::Line line = random_line(dice, settings, 40);
        // A refusal is shown for five seconds; what then becomes of a press under way is the state
        // table's business, so those lines end before.
        const bool refuse = dice.one_in(2);
        while (refuse && !line.samples.empty() && line.samples.back().stamp > line.start + 4s) {
            line.samples.pop_back();
        }
        if (refuse) {
            line.end = line.start + 4900ms;
        }
        const std::string wrong = difference(
            settings, line, refuse ? model::Reply::refused : model::Reply::silence, &seen);
        if (!wrong.empty()) {
            FAIL(wrong);
        }
    }
    std::cout << seen.lines << " lines, " << seen.requests << " requests, " << seen.near_misses
              << " near misses, " << seen.call_offs << " call-offs, " << seen.stuck << " stuck"
              << std::endl;
    CHECK(seen.requests > static_cast<std::uint64_t>(count) / 10);
    CHECK(seen.call_offs > static_cast<std::uint64_t>(count) / 100);
    CHECK(seen.stuck > static_cast<std::uint64_t>(count) / 100);
}
