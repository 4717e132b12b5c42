// SPDX-License-Identifier: MIT
#include "circuit/limits.hpp"
#include "support/circuit_text.hpp"
#include "support/logger_circuit.hpp"

#include <algorithm>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_floating_point.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch::circuit;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::WithinRel;

namespace {

/// The one finding, or an empty one.
Finding only_finding(const Circuit& circuit) {
    const auto found = limit_findings(circuit);
    CHECK(found.size() <= 1);
    return found.empty() ? Finding{} : found.front();
}

Circuit at_24_volts() {
    Circuit circuit = logger_circuit();
    circuit.parts.supply_voltage = {22.8, 24.0, 25.2};
    circuit.parts.rail_bleeder = Spread::exactly(infinite);
    return circuit;
}

const std::vector<Setting> nothing;

}  // namespace

TEST_CASE("Every part of the logger gets less than it takes") {
    CHECK(limit_findings(logger_circuit()).empty());
    CHECK(limit_findings(at_24_volts()).empty());
}

// P = U^2 / R.
TEST_CASE("The bleeder's heat at the highest supply is a failure, and the next rating the remedy") {
    Circuit circuit = at_24_volts();
    circuit.parts.rail_bleeder = Spread::within(220.0, 0.05);
    const Finding one = only_finding(circuit);  // 25.2^2 / 209
    CHECK(one.id == "bleeder-heat");
    CHECK(one.weight == Finding::Weight::failure);
    CHECK_THAT(one.sentence, ContainsSubstring("gets 3.04 W, and it takes 250 mW"));
    CHECK(one.settings == std::vector<Setting>{{"bleeder_rating", "5 W"}});
    circuit.ratings.bleeder = 5.0;
    CHECK(limit_findings(circuit).empty());
    circuit.parts.rail_bleeder = Spread::exactly(10.0);
    CHECK(only_finding(circuit).settings == nothing);
    CHECK_THAT(only_finding(circuit).remedy, ContainsSubstring("larger value"));
}

TEST_CASE("The hottest resistors are named with their watts") {
    Circuit circuit = at_24_volts();
    circuit.parts.gate_pull = Spread::exactly(1e3);      // 25.2^2 / 1000
    circuit.parts.feed_resistor = Spread::exactly(4e3);  // 25.2^2 / 4000
    const Finding one = only_finding(circuit);
    CHECK(one.id == "resistor-heat");
    CHECK_THAT(one.sentence, ContainsSubstring("the feed resistor 159 mW, the gate pull 635 mW"));
    CHECK(to_text(one.settings.at(0)) == "resistor_rating = \"1 W\"");
    circuit.ratings.resistor = 1.0;
    CHECK(limit_findings(circuit).empty());
}

TEST_CASE("Resistors at pin, capacitor and button count with what they really get") {
    Circuit circuit = logger_circuit();
    circuit.parts.bleed_resistor = Spread::exactly(100.0);  // 3.46^2 / 100
    CHECK_THAT(only_finding(circuit).sentence, ContainsSubstring("the bleed resistor 120 mW"));

    // An empty capacitor's charge costs as much in the resistor as it keeps: C U^2 / 2.
    circuit = logger_circuit();
    circuit.parts.series_resistor = Spread::exactly(1.0);
    circuit.parts.hold_capacitor = Spread::exactly(10e-3);
    CHECK_THAT(only_finding(circuit).sentence, ContainsSubstring("the series resistor 599 mW"));

    circuit = at_24_volts();
    circuit.parts.button_resistor = circuit.parts.gate_pull = Spread::exactly(10e3);
    CHECK(limit_findings(circuit).empty());  // 25.2^2 / 10k = 64 mW, and a quarter of it
    circuit.parts.gate_pull = Spread::exactly(7e3);
    circuit.parts.button_resistor = Spread::exactly(7e3);
    CHECK(limit_findings(circuit).empty());
    circuit.ratings.resistor = 0.02;
    CHECK_THAT(only_finding(circuit).sentence,
               ContainsSubstring("the gate pull 90.7 mW, the button's resistor 22.7 mW"));
}

TEST_CASE("Resistors of the other stages count, and a regulator's output is the rail") {
    Circuit circuit = at_24_volts();
    circuit.parts.gate_series = Spread::exactly(1e3);
    circuit.parts.gate_zener = Spread::exactly(5.2);  // (25.2 - 5.2) V / 1 kohm are 20 mA
    CHECK_THAT(only_finding(circuit).sentence,
               ContainsSubstring("take: the resistor at the gate 400 mW."));
    circuit.latch.current = 0.015;
    CHECK(limit_findings(circuit).front().id == "latch-current");
    circuit.parts.gate_series = Spread::exactly(22e3);
    CHECK(limit_findings(circuit).empty());

    circuit = logger_circuit();
    circuit.parts.line_pull = Spread::exactly(100.0);  // 3.46^2 / 100
    CHECK_THAT(only_finding(circuit).sentence, ContainsSubstring("the line's pull-up 120 mW"));

    circuit = at_24_volts();
    circuit.parts.regulator_output = {4.9, 5.0, 5.1};
    circuit.parts.rail_bleeder = Spread::exactly(150.0);  // 5.1^2 / 150, not 25.2^2
    CHECK(limit_findings(circuit).empty());
    circuit.parts.button_base = Spread::exactly(1e3);
    CHECK_THAT(only_finding(circuit).sentence,
               ContainsSubstring("the button transistor's base 635 mW"));
}

TEST_CASE("A capacitor's voltage is judged where it is stated, with the derating of its class") {
    Circuit circuit = logger_circuit();  // a line of 3.46 V at most
    circuit.ratings.hold_capacitor = 6.3;
    Finding one = only_finding(circuit);
    CHECK(one.id == "hold-capacitor-voltage");
    CHECK(one.weight == Finding::Weight::warning);
    CHECK_THAT(one.sentence, ContainsSubstring("3.46 V are across the hold capacitor of 6.3 V"));
    CHECK(one.settings == std::vector<Setting>{{"hold_capacitor_rating", "10 V"}});
    circuit.ratings.hold_derating = 0.8;
    CHECK(limit_findings(circuit).empty());
    circuit.ratings.hold_capacitor = 3.0;
    CHECK(only_finding(circuit).weight == Finding::Weight::failure);

    circuit = logger_circuit();  // a supply of 5.25 V at most
    circuit.ratings.rail_capacitor = 6.3;
    CHECK(only_finding(circuit).id == "rail-capacitor-voltage");
    circuit.ratings.rail_capacitor = 10.0;
    CHECK(limit_findings(circuit).empty());
    circuit.parts.back_feed_voltage = Spread::exactly(12.0);
    CHECK(only_finding(circuit).settings ==
          std::vector<Setting>{{"rail_capacitor_rating", "16 V"}});
}

TEST_CASE("The current through the small transistors is judged against what they take") {
    Circuit circuit = logger_circuit();
    circuit.latch.current = circuit.release.current = 0.22;  // BSS138 [onsemi/Fairchild]
    circuit.ratings.resistor = 10.0;
    CHECK(limit_findings(circuit).empty());
    circuit.parts.feed_resistor = Spread::exactly(20.0);  // 5.25 V / 20 ohm
    CHECK(only_finding(circuit).id == "release-current");
    CHECK_THAT(only_finding(circuit).sentence,
               ContainsSubstring("262.5 mA flow through the release transistor, and it takes"));
    circuit.parts.feed_resistor = Spread::exactly(22e3);
    circuit.parts.gate_pull = Spread::exactly(20.0);
    CHECK_THAT(only_finding(circuit).sentence, ContainsSubstring("through the latch transistor"));
}

TEST_CASE("Ratings are read, and what is not stated of them is assumed and said") {
    std::vector<NamedText> texts = texts_of(logger_circuit());
    std::erase_if(texts, [](const NamedText& text) { return text.key.ends_with("_rating"); });
    const CircuitRead silent = read_circuit(texts);
    REQUIRE(silent.assumptions.size() == 2);
    CHECK(sentence_of(silent.assumptions[0]) ==
          "what each resistor takes is not stated: 100 mW is assumed (common practice, no source)");
    CHECK(silent.assumptions[1].key == "bleeder_rating");
    for (const auto& [key, text] : std::vector<Setting>{{"resistor_rating", "125 mW"},
                                                        {"bleeder_rating", "2 W"},
                                                        {"hold_capacitor_rating", "10 V"},
                                                        {"rail_capacitor_rating", "16 V"},
                                                        {"latch_current_limit", "100 mA"},
                                                        {"release_current_limit", "200 mA"},
                                                        {"hold_capacitor_class", "film"}}) {
        texts.push_back({key, text, {}});
    }
    const CircuitRead read = read_circuit(texts);
    REQUIRE(read.circuit);
    CHECK(read.assumptions.empty());
    const Ratings& ratings = read.circuit->ratings;
    CHECK(ratings.resistor == 0.125);
    CHECK(ratings.bleeder == 2.0);
    CHECK(ratings.hold_capacitor == 10.0);
    CHECK(ratings.rail_capacitor == 16.0);
    CHECK(ratings.hold_derating == 0.7);
    CHECK_THAT(read.circuit->latch.current, WithinRel(0.1));
    CHECK_THAT(read.circuit->release.current, WithinRel(0.2));
    texts.back() = {"resistor_rating", "1/4 W", {2, 1}};
    CHECK_FALSE(read_circuit(texts).circuit);
}
