// SPDX-License-Identifier: MIT
#include "wave/volts_reader.hpp"

#include <array>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch::wave;
using Catch::Matchers::ContainsSubstring;

namespace {

VoltsRead read(const std::string& text, const std::vector<std::string>& names) {
    return read_volts({"scope.csv", text}, names);
}

std::string only_problem(const std::string& text, const std::vector<std::string>& names) {
    const VoltsRead volts = read(text, names);
    CHECK_FALSE(volts.curves);
    REQUIRE(volts.problems.size() == 1);
    const Problem& one = volts.problems.front();
    return std::to_string(one.line) + ":" + std::to_string(one.column) + ": " + one.text;
}

}  // namespace

TEST_CASE("two columns of an oscilloscope's table, in their order and units", "[wave][volts]") {
    const VoltsRead volts = read("Source,CH1,CH2,CH3\nSecond,Volt,mV,Volt\n-5.0E-03,3.3,12,0\n"
                                 "0,,34.5,1\n5.0E-03,-0.02,1 V,1\n",
                                 {"CH2", "CH1"});
    REQUIRE(volts.curves);
    REQUIRE(volts.curves->size() == 2);
    CHECK((*volts.curves)[0] == std::vector<VoltPoint>{{0.0, 0.012}, {0.005, 0.0345}, {0.01, 1.0}});
    CHECK((*volts.curves)[1] == std::vector<VoltPoint>{{0.0, 3.3}, {0.01, -0.02}});
}

TEST_CASE("decimal commas, times in milliseconds, and a sample rate", "[wave][volts]") {
    const VoltsRead comma = read("Time (ms);rail (V)\n0;5,05\n1;4,95\n", {"rail"});
    REQUIRE(comma.curves);
    CHECK(comma.curves->front() == std::vector<VoltPoint>{{0.0, 5.05}, {0.001, 4.95}});
    const VoltsRead rate = read("; Channels (2/2): rail, hold\n; Samplerate: 2 kHz\nrail,hold\n"
                                "5.0,0.1\n4.0,0.2\n",
                                {"hold"});
    REQUIRE(rate.curves);
    CHECK(rate.curves->front() == std::vector<VoltPoint>{{0.0, 0.1}, {0.0005, 0.2}});
}

TEST_CASE("what is not a table of voltages is told with its place", "[wave][volts]") {
    const std::string head = "t,rail,hold\n0,5.0,0.1\n";
    CHECK_THAT(only_problem(head, {"rial"}),
               ContainsSubstring("1:1: no column of levels is named \"rial\" (did you mean "
                                 "\"rail\"?)"));
    CHECK_THAT(only_problem(head + "1,much,0.2\n2,more,0.2\n", {"rail"}),
               ContainsSubstring("3:3: a voltage is a number, as in \"3.28\" or \"12 mV\""));
    CHECK_THAT(only_problem(head + "1,4.9\n", {"rail"}),
               ContainsSubstring("3:1: this row has 2 fields, the first has 3"));
    CHECK_THAT(only_problem(head + "-1,4.9,0.2\n", {"rail"}),
               ContainsSubstring("3:1: the time goes back, by 1.000 s"));
    CHECK_THAT(only_problem("t,rail\n0,1\n1,0\n2,1\n", {"rail"}),
               ContainsSubstring("1:3: \"rail\" has 0 and 1 only: levels"));
    CHECK_THAT(only_problem("t,rail\n0,-\n", {"rail"}),
               ContainsSubstring("1:3: \"rail\" has no voltage"));
    CHECK_THAT(only_problem("$timescale 1 us $end\n", {"rail"}),
               ContainsSubstring("1:1: a value change dump has levels, no voltages"));
    CHECK_THAT(only_problem("PK\x03\x04", {"rail"}), ContainsSubstring("1:1: this is a zip"));
}
