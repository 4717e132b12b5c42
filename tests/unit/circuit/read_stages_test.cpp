// SPDX-License-Identifier: MIT
// Which stages a [circuit] has, and the keys that have their place only beside them.
#include "circuit/library.hpp"
#include "circuit/read.hpp"
#include "logger_texts.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch::circuit;
using Catch::Matchers::ContainsSubstring;

namespace {

std::string problems_of(const Texts& texts) {
    std::string all;
    for (const Problem& problem : read_circuit(texts).problems) {
        all += problem.key + " " + problem.text + "\n";
    }
    return all;
}

}  // namespace

TEST_CASE("A bipolar part of the library brings its gain, and needs its base resistor") {
    Texts texts = logger_with("release_transistor", "BC847B");
    CHECK_THAT(problems_of(texts), ContainsSubstring("release_base is missing"));
    texts.push_back({"release_base", "47 kohm", {40, 1}});
    const CircuitRead read = read_circuit(texts);
    REQUIRE(read.circuit);
    CHECK(read.circuit->parts.release_gain ==
          find_part(library_transistors(), "BC847B")->gain.value);
    CHECK(read.circuit->release.gate == 0.0);
}

TEST_CASE("A stated gain makes an own transistor a bipolar one") {
    Texts texts = without(logger(), "latch_transistor");
    texts.push_back({"latch_threshold", "0.6 V, 0.7 V", {40, 1}});
    texts.push_back({"latch_gain", "100, 300", {41, 1}});
    const CircuitRead read = read_circuit(texts);
    REQUIRE(read.circuit);
    CHECK(read.circuit->parts.latch_gain.typical == 200.0);
    CHECK(read.circuit->latch_conduction.test_current == 0.0);
}

TEST_CASE("A key without its stage is told what it belongs to") {
    CHECK_THAT(problems_of(logger_with("release_base", "47 kohm")),
               ContainsSubstring("only beside release_gain or a bipolar release transistor"));
    CHECK_THAT(problems_of(logger_with("line_pull", "10 kohm")),
               ContainsSubstring("only with line_drive = \"open-drain\""));
    CHECK_THAT(problems_of(logger_with("output_discharge", "100 ohm")),
               ContainsSubstring("only beside enable_threshold"));
    CHECK_THAT(problems_of(logger_with("button_base", "10 kohm")),
               ContainsSubstring("only beside button_gain"));
    CHECK(problems_of(logger_with("gate_series", "10 kohm")).empty());
}

TEST_CASE("With an enable pin nothing is asked of latch and gate, and nothing is taken") {
    Texts texts = without(without(logger(), "latch_transistor"), "main_switch");
    texts = without(texts, "gate_pull");
    texts.push_back({"enable_threshold", "0.8 V, 1.6 V", {40, 1}});
    CHECK(problems_of(texts).empty());
    texts.push_back({"gate_pull", "47 kohm", {41, 1}});
    CHECK_THAT(problems_of(texts), ContainsSubstring("gate_pull has no place beside enable"));
}

TEST_CASE("An open-drain line needs its pull-up, and the time before the probe when active high") {
    Texts texts = logger_with("line_drive", "open-drain");
    CHECK_THAT(problems_of(texts), ContainsSubstring("line_pull is missing: an open-drain line"));
    CHECK_THAT(problems_of(texts), ContainsSubstring("boot_time is missing"));
    texts.push_back({"line_active", "low", {41, 1}});
    texts.push_back({"line_pull", "10 kohm", {42, 1}});
    texts.push_back({"inverter_transistor", "BSS84", {43, 1}});
    CHECK(problems_of(texts).empty());
    texts.back().text = "BSS138";
    CHECK_THAT(problems_of(texts), ContainsSubstring("wanted is a P-channel MOSFET"));
}

TEST_CASE("A word that is none of the two is told, with the nearest") {
    CHECK_THAT(problems_of(logger_with("line_drive", "open-drian")),
               ContainsSubstring("is one of \"push-pull\", \"open-drain\"; did you mean"));
}

TEST_CASE("What lies above what it must be below is told") {
    Texts texts = logger_with("line_active", "low");
    texts.push_back({"inverter_threshold", "3 V, 4 V", {41, 1}});
    texts.push_back({"inverter_resistance", "1 ohm", {42, 1}});
    CHECK_THAT(problems_of(texts), ContainsSubstring("reaches 4 V, but line_high may be as low"));
}
