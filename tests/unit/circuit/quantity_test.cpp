// SPDX-License-Identifier: MIT
#include "circuit/quantity.hpp"
#include "circuit/spread.hpp"

#include <limits>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_floating_point.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch::circuit;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::WithinRel;

namespace {

double read(std::string_view text, Unit unit) {
    const auto value = parse_quantity(text, unit);
    INFO(text);
    REQUIRE(value);
    return *value;
}

std::string refused(std::string_view text, Unit unit, Range range = {1e-12, 1e12}) {
    const auto value = parse_quantity(text, unit, range);
    INFO(text);
    REQUIRE_FALSE(value);
    return value.error();
}

}  // namespace

TEST_CASE("Values are read with the units and prefixes of the trade") {
    CHECK_THAT(read("22 uF", Unit::farad), WithinRel(22e-6));
    CHECK_THAT(read("22\xC2\xB5"
                    "F",
                    Unit::farad),
               WithinRel(22e-6));
    CHECK_THAT(read("100nF", Unit::farad), WithinRel(100e-9));
    CHECK_THAT(read("10 kohm", Unit::ohm), WithinRel(10e3));
    CHECK_THAT(read("10 k", Unit::ohm), WithinRel(10e3));
    CHECK_THAT(read("4.7 M\xCE\xA9", Unit::ohm), WithinRel(4.7e6));
    CHECK_THAT(read("220 \xE2\x84\xA6", Unit::ohm), WithinRel(220.0));
    CHECK_THAT(read("60 mohm", Unit::ohm), WithinRel(0.06));
    CHECK_THAT(read("0.8 V", Unit::volt), WithinRel(0.8));
    CHECK_THAT(read("+2 A", Unit::ampere), WithinRel(2.0));
    CHECK_THAT(read("5 uA", Unit::ampere), WithinRel(5e-6));
    CHECK_THAT(read("100 ms", Unit::second), WithinRel(0.1));
    CHECK_THAT(read("-10 \xC2\xB0"
                    "C",
                    Unit::celsius),
               WithinRel(-10.0));
    CHECK_THAT(read("62 K/W", Unit::kelvin_per_watt), WithinRel(62.0));
    CHECK_THAT(read("35 cm", Unit::metre), WithinRel(0.35));
    CHECK_THAT(read("2600 mAh", Unit::ampere_hour), WithinRel(2.6));
}

TEST_CASE("A value that cannot be meant is refused with what is wrong and what is allowed") {
    CHECK(refused("22", Unit::farad) ==
          R"("22" has no unit; a number with its unit is wanted: "100 nF", "22 uF")");
    CHECK_THAT(refused("-22 uF", Unit::farad), ContainsSubstring("is negative"));
    CHECK_THAT(refused("0 ohm", Unit::ohm), ContainsSubstring("is zero"));
    CHECK_THAT(refused("10 kohm", Unit::farad), ContainsSubstring("is in ohm, but"));
    CHECK_THAT(refused("10 quark", Unit::ohm), ContainsSubstring("has an unknown unit"));
    CHECK_THAT(refused("22 mF uF", Unit::farad), ContainsSubstring("has an unknown unit"));
    for (const char* text : {"", "  ", "uF", "nan V", "inf V", "--1 V", "0x10 V", "1,5 V", "."}) {
        CHECK_THAT(refused(text, Unit::volt), ContainsSubstring("wanted"));
    }
    CHECK_THAT(refused("1e999 V", Unit::volt), ContainsSubstring("too large or too small"));
}

// A letter in the place of the point, and R for ohm [IEC 60062, marking codes].
TEST_CASE("Spellings of the trade that are not read are answered with what was meant") {
    struct Spelling {
        const char* written;
        Unit unit;
        const char* meant;
    };

    for (const auto& [written, unit, meant] : {Spelling{"4k7", Unit::ohm, "4.7 kohm"},
                                               Spelling{"10R", Unit::ohm, "10 ohm"},
                                               Spelling{"4R7", Unit::ohm, "4.7 ohm"},
                                               Spelling{"2M2", Unit::ohm, "2.2 Mohm"},
                                               Spelling{"2n2", Unit::farad, "2.2 nF"},
                                               Spelling{"10 K", Unit::ohm, "10 kohm"},
                                               Spelling{"10 Kohm", Unit::ohm, "10 kohm"},
                                               Spelling{"22 uf", Unit::farad, "22 uF"},
                                               Spelling{"3V3", Unit::volt, "3.3 V"}}) {
        CHECK_THAT(refused(written, unit),
                   ContainsSubstring("was \"" + std::string(meant) + "\" meant?"));
        CHECK(parse_quantity(meant, unit));
    }
    for (const char* text : {"k7", "4k7k7", "4.7k7", "R", "4x7"}) {
        CHECK_THAT(refused(text, Unit::ohm), !ContainsSubstring("meant"));
    }
    for (const char* text : {"2,2 uF", "2,2 uF +-10 %"}) {
        const auto comma = parse_spread(text, Unit::farad, {1e-9, 1.0});
        REQUIRE_FALSE(comma);
        CHECK_THAT(comma.error(), ContainsSubstring("was \"2.2 uF"));
    }
    const auto listed = parse_spread("2, 3 uF", Unit::farad, {1e-9, 1.0});
    REQUIRE_FALSE(listed);
    CHECK_THAT(listed.error(), !ContainsSubstring("meant"));
}

TEST_CASE("A percentage of degrees is refused: its ends would be swapped below zero") {
    for (const char* text : {"-10 C +-50 %", "25 C +-20 %", "20 C -10 +20 %"}) {
        const auto read = parse_spread(text, Unit::celsius, {-55.0, 125.0});
        REQUIRE_FALSE(read);
        CHECK_THAT(read.error(), ContainsSubstring("wanted are the ends, \"-10 C, 40 C\""));
    }
    CHECK(parse_spread("-10 C, 40 C", Unit::celsius, {-55.0, 125.0}));
}

TEST_CASE("An implausible value is refused with the range and what was probably meant") {
    CHECK(refused("22 F", Unit::farad, {1e-9, 22e-3}) ==
          "22 F is not plausible here; 1 nF to 22 mF is allowed; was 22 uF meant?");
    CHECK(refused("22 Mohm", Unit::ohm, {1.0, 1e6}) ==
          "22 Mohm is not plausible here; 1 ohm to 1 Mohm is allowed; was 22 kohm meant?");
    CHECK_THAT(refused("200 C", Unit::celsius, {-55.0, 125.0}),
               ContainsSubstring("-55 C to 125 C is allowed"));
}

TEST_CASE("What is printed is short and is read back") {
    CHECK(to_text(22e-6, Unit::farad) == "22 uF");
    CHECK(to_text(4700.0, Unit::ohm) == "4.7 kohm");
    CHECK(to_text(0.06, Unit::ohm) == "60 mohm");
    CHECK(to_text(0.8, Unit::volt) == "800 mV");
    CHECK(to_text(0.0, Unit::volt) == "0 V");
    CHECK(to_text(1.0 / 3.0, Unit::second) == "333.3 ms");
    CHECK(to_text(-12.5, Unit::celsius) == "-12.5 C");
    CHECK(to_text(std::numeric_limits<double>::infinity(), Unit::ohm) == "none");
    for (const double value : {1e-12, 3.3e-9, 0.047, 1.0, 820.0, 1e6}) {
        CHECK_THAT(read(to_text(value, Unit::farad), Unit::farad), WithinRel(value, 1e-6));
        CHECK_THAT(read(to_text(value, Unit::ohm), Unit::ohm), WithinRel(value, 1e-6));
    }
}

TEST_CASE("A spread is read from a tolerance or from its ends") {
    const Range range{1e-9, 1.0};
    const auto spread = [&](std::string_view text) {
        const auto read = parse_spread(text, Unit::farad, range);
        INFO(text);
        REQUIRE(read);
        return read->spread;
    };
    for (const char* text : {"22 uF +-20 %",
                             "22uF\xC2\xB1"
                             "20%",
                             "22 \xC2\xB5"
                             "F \xC2\xB1 20 %",
                             "22 uF +20 -20 %"}) {
        CHECK_THAT(spread(text).least, WithinRel(17.6e-6));
        CHECK_THAT(spread(text).typical, WithinRel(22e-6));
        CHECK_THAT(spread(text).most, WithinRel(26.4e-6));
    }
    CHECK_THAT(spread("10 uF -20 +80 %").most, WithinRel(18e-6));
    CHECK_THAT(spread("1 uF, 2 uF, 5 uF").typical, WithinRel(2e-6));
    CHECK_THAT(spread("1 uF, 3 uF").typical, WithinRel(2e-6));
    CHECK(spread("1 uF").is_exact());
}

TEST_CASE("A spread whose ends are swapped, or that is none, is refused") {
    const auto refusal = [](std::string_view text) {
        const auto read = parse_spread(text, Unit::volt, {0.2, 6.0});
        INFO(text);
        REQUIRE_FALSE(read);
        return read.error();
    };
    CHECK(refusal("1.5 V, 1.3 V, 0.8 V") ==
          "1.5 V comes before 1.3 V; wanted are least, typical and largest, in this order");
    CHECK_THAT(refusal("1 V, 2 V, 3 V, 4 V"), ContainsSubstring("4 values"));
    CHECK_THAT(refusal("1 V +-20"), ContainsSubstring("is not a tolerance"));
    CHECK_THAT(refusal("1 V +-120 %"), ContainsSubstring("below 100 %"));
    CHECK_THAT(refusal("1 V +-90 %"), ContainsSubstring("100 mV is not plausible here"));
    CHECK_THAT(refusal("1 V, 2 A"), ContainsSubstring("is in A"));
    CHECK_THAT(refusal("-1 V"), ContainsSubstring("is negative"));
}

TEST_CASE("A range that is not plausible is refused by the end that was written") {
    const auto refusal = [](std::string_view text, Unit unit, Range range) {
        const auto read = parse_spread(text, unit, range);
        INFO(text);
        REQUIRE_FALSE(read);
        return read.error();
    };
    const Range degrees{-55.0, 125.0};
    const std::string allowed = " is not plausible here; -55 C to 125 C is allowed";
    CHECK(refusal("-300 C, 900 C", Unit::celsius, degrees) == "-300 C" + allowed);
    CHECK(refusal("-10 C, 900 C", Unit::celsius, degrees) == "900 C" + allowed);
    CHECK(refusal("-10 C, 300 C, 900 C", Unit::celsius, degrees) == "900 C" + allowed);
    CHECK(refusal("22 F +-20 %", Unit::farad, {1e-9, 22e-3}) ==
          "22 F is not plausible here; 1 nF to 22 mF is allowed; was 22 uF meant?");
    CHECK(refusal("22 mF +-20 %", Unit::farad, {1e-9, 22e-3}) ==
          "\"22 mF +-20 %\": 26.4 mF is not plausible here; 1 nF to 22 mF is allowed; was 26.4 nF "
          "meant?");
}
