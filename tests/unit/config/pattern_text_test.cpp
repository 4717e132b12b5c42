// SPDX-License-Identifier: MIT
#include "config/pattern_text.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::config;
using namespace std::chrono_literals;
using core::Pattern;
using core::PatternKind;

TEST_CASE("patterns are read in every spelling that people use", "[pattern]") {
    CHECK(*parse_pattern("off") == Pattern{});
    CHECK(*parse_pattern(" on ") == Pattern{PatternKind::on, {}, {}});
    CHECK(*parse_pattern("blink 4 Hz") == Pattern{PatternKind::blink, 125ms, 125ms});
    CHECK(*parse_pattern("blink  4Hz") == Pattern{PatternKind::blink, 125ms, 125ms});
    CHECK(*parse_pattern("blink 2.5 Hz") == Pattern{PatternKind::blink, 200ms, 200ms});
    CHECK(*parse_pattern("blink 0.1 Hz") == Pattern{PatternKind::blink, 5s, 5s});
    CHECK(*parse_pattern("pulse 50 ms 20 ms") == Pattern{PatternKind::pulse, 50ms, 20ms});
    CHECK(*parse_pattern("pulse 50ms 20ms") == Pattern{PatternKind::pulse, 50ms, 20ms});
    CHECK(*parse_pattern("pulse 1.5 s 0 s") == Pattern{PatternKind::pulse, 1500ms, 0s});
}

TEST_CASE("what is not a pattern is refused", "[pattern]") {
    for (const char* text : {"",
                             "ON",
                             "on on",
                             "off 1 s",
                             "blink",
                             "blink 4",
                             "blink 4 hz",
                             "blink 4 Hz 1",
                             "blink 4. Hz",
                             "blink .5 Hz",
                             "blink 1.2345 Hz",
                             "blink -4 Hz",
                             "blink 1e1 Hz",
                             "blink 99999999999999999999 Hz",
                             "blink 0.099 Hz",
                             "blink 25.001 Hz",
                             "pulse",
                             "pulse 50 50",
                             "pulse 50 ms",
                             "pulse 50 ms 50 ms 50 ms",
                             "pulse 0 s 50 ms",
                             "pulse 999 us 0 s",
                             "pulse 11 s 0 s",
                             "pulse 1 s 11 s"}) {
        INFO(text);
        CHECK_FALSE(parse_pattern(text));
    }
}

TEST_CASE("every frequency that can be written reads back as the same pattern", "[pattern]") {
    for (int millihertz = 100; millihertz <= 25'000; ++millihertz) {
        const std::string thousandths = std::to_string(1000 + millihertz % 1000).substr(1);
        const auto pattern =
            parse_pattern("blink " + std::to_string(millihertz / 1000) + "." + thousandths + " Hz");
        REQUIRE(pattern);
        const auto again = parse_pattern(pattern_text(*pattern));
        REQUIRE(again);
        REQUIRE(*again == *pattern);
    }
    CHECK(pattern_text(*parse_pattern("blink 3 Hz")) == "blink 3 Hz");
    CHECK(pattern_text(*parse_pattern("blink 0.125 Hz")) == "blink 0.125 Hz");
    CHECK(pattern_text(*parse_pattern("blink 10.50 Hz")) == "blink 10.5 Hz");
}
