// SPDX-License-Identifier: MIT
#include "base/duration_text.hpp"

#include <array>
#include <cstdint>

#include <catch2/catch_test_macros.hpp>
#include <catch2/generators/catch_generators_all.hpp>

using namespace nightlatch;
using namespace std::chrono_literals;

namespace {

struct Case {
    std::string_view text;
    Duration duration;
};

std::string refusal(std::string_view text) {
    const auto read = parse_duration(text);
    return read ? "taken" : read.error();
}

}  // namespace

TEST_CASE("a number with a unit is a duration", "[duration]") {
    constexpr std::array cases{Case{"0 s", 0s},
                               Case{"30 ms", 30ms},
                               Case{"30ms", 30ms},
                               Case{"30   ms", 30ms},
                               Case{"500 us", 500us},
                               Case{"1.5 s", 1500ms},
                               Case{"0.001 s", 1ms},
                               Case{"00012 s", 12s},
                               Case{"2 min", 2min},
                               Case{"2.5 min", 150s},
                               Case{"24 h", 24h},
                               Case{"86400 s", 24h},
                               Case{"0.000000001 s", 1ns},
                               Case{"0.001 us", 1ns},
                               Case{"134816683 us", 134'816'683us},
                               Case{"86400000000.000 us", 24h},
                               Case{"0.0000000015 s", 2ns},
                               Case{"0.333333333 h", Duration(1'199'999'998'800)}};
    for (const Case& one : cases) {
        INFO(one.text);
        const auto read = parse_duration(one.text);
        REQUIRE(read);
        CHECK(read->count() == one.duration.count());
    }
}

TEST_CASE("anything else is refused with a sentence", "[duration]") {
    CHECK(refusal("30").starts_with("it has no unit"));
    CHECK(refusal("30 ") == refusal("30"));
    CHECK(refusal("30 msec") == "\"msec\" is not a unit; use us, ms, s, min or h");
    CHECK(refusal("30 ms ") == "\"ms \" is not a unit; use us, ms, s, min or h");
    CHECK(refusal("30 MS") == "\"MS\" is not a unit; use us, ms, s, min or h");
    CHECK(refusal("1 s 2 ms") == "\"s 2 ms\" is not a unit; use us, ms, s, min or h");
    CHECK(refusal("1,5 s") == "\",5 s\" is not a unit; use us, ms, s, min or h");
    for (const char* text : {"",
                             " ",
                             "s",
                             " 30 ms",
                             "-30 ms",
                             "+30 ms",
                             ".5 s",
                             "5. s",
                             "1e3 s",
                             "0x10 s",
                             "nan s",
                             "inf s"}) {
        INFO(text);
        CHECK_FALSE(parse_duration(text));
    }
}

TEST_CASE("a duration ends at 24 h, whatever the unit, and never overflows", "[duration]") {
    for (const char* text : {"24.000000001 h",
                             "25 h",
                             "1440.1 min",
                             "86400.000000001 s",
                             "86400001 ms",
                             "86400000000.001 us",
                             "99999999999999999999 h",
                             "100000000 h",
                             "18446744073709551617 s",
                             "9223372036854775808 us"}) {
        INFO(text);
        CHECK(refusal(text) == "longer than 24 h");
    }
    CHECK(parse_duration("86400000 ms"));
}

TEST_CASE("the text of a duration is the shortest exact one", "[duration]") {
    CHECK(to_text(0s) == "0 s");
    CHECK(to_text(30ms) == "30 ms");
    CHECK(to_text(1500ms) == "1.5 s");
    CHECK(to_text(120s) == "2 min");
    CHECK(to_text(90s) == "90 s");
    CHECK(to_text(3600s) == "1 h");
    CHECK(to_text(500us) == "500 us");
    CHECK(to_text(1ns) == "0.001 us");
    CHECK(to_text(-30ms) == "-30 ms");
}

TEST_CASE("the text of a duration reads back as the same", "[duration]") {
    const auto count =
        GENERATE(take(500, random(std::int64_t{0}, std::int64_t{86'400'000'000'000})),
                 take(100, random(std::int64_t{0}, std::int64_t{1'000'000})),
                 values<std::int64_t>({0,
                                       1,
                                       999,
                                       1'000,
                                       999'999,
                                       1'000'000,
                                       999'999'999,
                                       1'000'000'000,
                                       59'999'999'999,
                                       60'000'000'000,
                                       3'599'999'999'999,
                                       86'400'000'000'000}));
    const Duration duration(count);
    INFO(to_text(duration));
    const auto read = parse_duration(to_text(duration));
    REQUIRE(read);
    CHECK(read->count() == duration.count());
}

TEST_CASE("seconds for people keep three places", "[duration]") {
    CHECK(seconds_text(3004ms) == "3.004 s");
    CHECK(seconds_text(1s) == "1.000 s");
    CHECK(seconds_text(250ms) == "250 ms");
    CHECK(seconds_text(1557us) == "1.56 ms");
    CHECK(seconds_text(-2s) == "-2.000 s");
}
