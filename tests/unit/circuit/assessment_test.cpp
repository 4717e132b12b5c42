// SPDX-License-Identifier: MIT
#include "circuit/assessment.hpp"
#include "support/circuit_text.hpp"
#include "support/logger_circuit.hpp"

#include <algorithm>
#include <cmath>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch::circuit;
using Catch::Matchers::ContainsSubstring;

namespace {

constexpr unsigned few = 500;

/// The assessment of the circuit as it is read from a file.
Assessment assessed(const Circuit& circuit, unsigned circuits = few) {
    return assess(read_again(circuit), circuits);
}

std::vector<WhatIf> advised(const Circuit& circuit) {
    const Circuit read = read_again(circuit);
    return advice(read, judged(read));
}

const Finding* finding(const Assessment& assessment, std::string_view id) {
    const auto found = std::find_if(assessment.findings.begin(),
                                    assessment.findings.end(),
                                    [&](const Finding& one) { return one.id == id; });
    return found == assessment.findings.end() ? nullptr : &*found;
}

bool has_failure(const Assessment& assessment, std::string_view id) {
    const Finding* found = finding(assessment, id);
    return found != nullptr && found->weight == Finding::Weight::failure;
}

}  // namespace

TEST_CASE("A good circuit gets a yes with its margin, and nothing that fails") {
    const Assessment result = assessed(logger_circuit(), few);
    CHECK(result.stays_off == StaysOff::all_corners);
    CHECK_THAT(result.headline,
               ContainsSubstring("Yes: even in the worst case the supply switches off and "
                                 "stays off, with a margin of"));
    for (const Finding& one : result.findings) {
        INFO(one.id << ": " << one.sentence);
        CHECK(one.weight != Finding::Weight::failure);
    }
    CHECK(result.shortest_pulse < 0.1);
    CHECK(result.what_ifs.empty());
    CHECK(cautions().size() == 9);
}

// Leaving out one part at a time gives what the trade knows (common practice, no source).

TEST_CASE("Without the hold capacitor the assessment says that the supply comes straight back") {
    Circuit circuit = logger_circuit();
    circuit.parts.hold_capacitor = Spread::exactly(0.0);
    const Assessment result = assessed(circuit, few);
    CHECK(result.stays_off == StaysOff::no);
    CHECK(has_failure(result, "no-hold-capacitor"));
    CHECK(has_failure(result, "comes-back"));
}

TEST_CASE("With the diode bridged the assessment says that the supply comes straight back") {
    Circuit circuit = logger_circuit();
    circuit.diode.count = 0;
    const Assessment result = assessed(circuit, few);
    CHECK(result.stays_off == StaysOff::no);
    CHECK(has_failure(result, "no-diode"));
    CHECK(result.findings.front().id == "no-diode");
    CHECK(has_failure(result, "comes-back"));
}

TEST_CASE("Without the bleed resistor the assessment says that the next switch-on fails") {
    Circuit circuit = logger_circuit();
    circuit.parts.bleed_resistor = Spread::exactly(infinite);
    const Assessment result = assessed(circuit, few);
    REQUIRE(has_failure(result, "slow-again"));
    CHECK_THAT(finding(result, "slow-again")->sentence, ContainsSubstring("fails or is random"));
    // The remedy is a value, the largest of its series with which the finding is gone.
    CHECK_THAT(finding(result, "slow-again")->remedy,
               ContainsSubstring("bleed resistor 820 kohm where there is none"));
    circuit.parts.bleed_resistor = Spread::within(820e3, 0.05);
    CHECK(finding(assessed(circuit, few), "slow-again") == nullptr);
    circuit.parts.bleed_resistor = Spread::within(1e6, 0.05);
    CHECK(finding(assessed(circuit, few), "slow-again") != nullptr);
}

TEST_CASE("Without the series resistor the assessment says that the pin is overloaded") {
    Circuit circuit = logger_circuit();
    circuit.parts.series_resistor = Spread::exactly(0.0);
    const Assessment result = assessed(circuit, few);
    REQUIRE(has_failure(result, "pin-overload"));
    // 3.46 V less the drop at most, over 16 mA, and 5 % for the resistor.
    CHECK(finding(result, "pin-overload")->remedy == "series resistor 220 ohm where there is none");
    CHECK(finding(result, "pin-overload")->settings == Settings{{"series_resistor", "220 ohm"}});
}

TEST_CASE("Without the feed resistor the assessment says that the rail is shorted") {
    Circuit circuit = logger_circuit();
    circuit.parts.feed_resistor = Spread::exactly(0.0);
    const Assessment result = assessed(circuit, few);
    CHECK(result.stays_off == StaysOff::no);
    CHECK(has_failure(result, "rail-shorted"));
}

TEST_CASE("A circuit that works but for its corners says how many do, and what would help") {
    Circuit circuit = logger_circuit();
    circuit.parts.rail_bleeder = Spread::exactly(infinite);
    const Assessment result = assessed(circuit, 2000);
    CHECK(result.stays_off == StaysOff::percentile);
    CHECK_THAT(result.headline, ContainsSubstring("Not in the worst case: of 2,000 circuits"));
    CHECK_THAT(result.headline, ContainsSubstring("; at the worst corner it comes back."));
    CHECK(has_failure(result, "comes-back"));
    REQUIRE(result.what_ifs.size() >= 2);
    bool one_is_enough = false;
    for (const WhatIf& line : result.what_ifs) {
        INFO(line.change);
        CHECK(line.margin > result.worst.transient.margin);
        one_is_enough = one_is_enough || line.enough;
    }
    CHECK(one_is_enough);
}

TEST_CASE("Advice takes the smallest hold capacitor of the series that reaches the margin") {
    Circuit circuit = logger_circuit();
    circuit.demands.margin = 0.075;
    const auto lines = advised(circuit);
    const auto capacitor = std::find_if(lines.begin(), lines.end(), [](const WhatIf& line) {
        return line.change.starts_with("hold capacitor");
    });
    REQUIRE(capacitor != lines.end());
    CHECK(capacitor->enough);
    CHECK(capacitor->margin >= 0.075);
    CHECK_THAT(capacitor->change, ContainsSubstring("instead of 47 uF"));
    CHECK_THAT(capacitor->cost, ContainsSubstring("ready to be switched on again"));
}

TEST_CASE("When every circuit drawn stays off and the worst corner does not, both are said") {
    Circuit circuit = logger_circuit();
    circuit.parts.rail_bleeder = Spread::within(1e3, 0.05);
    const Assessment result = assessed(circuit, 3);
    REQUIRE(result.drawn.stay_off == 3);
    CHECK_THAT(result.headline,
               ContainsSubstring("Not in the worst case: all of 3 circuits drawn") &&
                   ContainsSubstring("at the worst corner it comes back"));
    CHECK_THAT(assessed(circuit, 1000).headline, ContainsSubstring("all of 1,000 circuits drawn"));
}

TEST_CASE("Where no single change is enough, several together are tried, and lead to enough") {
    Circuit circuit = logger_circuit();
    circuit.parts.rail_bleeder = Spread::exactly(infinite);
    circuit.parts.release_threshold = {0.8, 2.1, 3.0};  // 2N7000 [onsemi NDS7002A/D]
    const auto lines = advised(circuit);
    REQUIRE(lines.size() >= 2);
    for (std::size_t i = 0; i + 1 < lines.size(); ++i) {
        INFO(lines[i].change);
        CHECK_FALSE(lines[i].enough);
    }
    INFO(lines.back().change);
    CHECK(lines.back().enough);
    CHECK_THAT(lines.back().change,
               ContainsSubstring("release transistor") && ContainsSubstring(", rail bleeder"));
    CHECK(lines.back().margin >= default_margin);
}

TEST_CASE("The remedy for a supply that comes back is what was computed to be enough") {
    Circuit circuit = logger_circuit();
    circuit.parts.rail_bleeder = Spread::within(1e3, 0.05);
    const Assessment result = assessed(circuit, few);
    REQUIRE(finding(result, "comes-back") != nullptr);
    const auto enough = std::find_if(result.what_ifs.begin(),
                                     result.what_ifs.end(),
                                     [](const WhatIf& line) { return line.enough; });
    REQUIRE(enough != result.what_ifs.end());
    CHECK(finding(result, "comes-back")->remedy == enough->change);
}

TEST_CASE("No what-if is proposed that brings next to nothing") {
    Circuit circuit = logger_circuit();
    circuit.parts.back_feed_voltage = Spread::exactly(3.0);
    circuit.parts.back_feed_current = Spread::exactly(0.5);
    const Assessment result = assessed(circuit, few);
    for (const WhatIf& line : result.what_ifs) {
        INFO(line.change);
        CHECK(line.margin > -infinite);
    }
    REQUIRE(finding(result, "comes-back") != nullptr);
    CHECK_THAT(finding(result, "comes-back")->remedy, ContainsSubstring("what feeds the rail"));
}

TEST_CASE("Thresholds that do not go together are named by pair") {
    Circuit circuit = logger_circuit();
    circuit.parts.release_threshold = {0.8, 2.1, 3.0};  // 2N7000 [onsemi NDS7002A/D]
    const Assessment result = assessed(circuit, few);
    const Finding* pairs = finding(result, "threshold-pairs");
    REQUIRE(pairs != nullptr);
    CHECK_THAT(pairs->sentence, ContainsSubstring("3 V with 800 mV"));
}

TEST_CASE("A main switch for 10 V of gate drive is a finding at 5 V") {
    Circuit circuit = logger_circuit();
    circuit.main_switch.on = {{10.0, 0.2}};          // IRF9540 [Vishay]
    circuit.parts.main_threshold = {2.0, 3.0, 4.0};  // the same
    const Assessment result = assessed(circuit, few);
    REQUIRE(finding(result, "weak-gate-drive") != nullptr);
    CHECK_THAT(finding(result, "weak-gate-drive")->sentence,
               ContainsSubstring("published for 10 V of gate drive, and it gets 4.9 V"));
}

TEST_CASE("Findings come worst first and each failure has a remedy") {
    Circuit circuit = logger_circuit();
    circuit.parts.hold_capacitor = Spread::exactly(0.0);
    circuit.parts.back_feed_voltage = Spread::exactly(3.0);
    circuit.parts.back_feed_current = Spread::exactly(0.03);
    const Assessment result = assessed(circuit, few);
    CHECK(finding(result, "back-feed") != nullptr);
    for (std::size_t i = 1; i < result.findings.size(); ++i) {
        CHECK(result.findings[i - 1].weight <= result.findings[i].weight);
    }
    for (const Finding& one : result.findings) {
        CHECK((one.weight == Finding::Weight::note || !one.remedy.empty()));
    }
}

TEST_CASE("A margin that is asked for and not there is a failure") {
    Circuit circuit = logger_circuit();
    const double margin = assessed(circuit, few).worst.transient.margin;
    circuit.demands.margin = 0.9 * margin;
    CHECK(finding(assessed(circuit, few), "small-margin") == nullptr);
    circuit.demands.margin = 2.0 * margin;
    const Assessment result = assessed(circuit, few);
    CHECK(result.stays_off == StaysOff::all_corners);
    CHECK(has_failure(result, "small-margin"));
    CHECK_FALSE(finding(result, "small-margin")->remedy.empty());
}

TEST_CASE("A supply above what the small transistors take is a failure, each by its name") {
    Circuit circuit = logger_circuit();
    circuit.latch = circuit.release = {20.0, 60.0};  // 2N7002 [70226, Vishay, absolute maximum]
    CHECK(finding(assessed(circuit, few), "latch-gate-limit") == nullptr);
    circuit.parts.supply_voltage = {22.8, 24.0, 25.2};
    circuit.parts.latch_pull = Spread::exactly(infinite);
    const Assessment result = assessed(circuit, few);
    REQUIRE(has_failure(result, "latch-gate-limit"));
    CHECK_THAT(finding(result, "latch-gate-limit")->sentence,
               ContainsSubstring("25.2 V are between gate and source of the latch transistor"));
    circuit.latch.drain = 20.0;
    CHECK(has_failure(assessed(circuit, few), "latch-drain-limit"));
}

TEST_CASE("The pull-down at the latch's gate divides what that gate gets") {
    Circuit circuit = logger_circuit();
    circuit.latch = {20.0, 60.0};
    circuit.parts.supply_voltage = {22.8, 24.0, 25.2};
    circuit.parts.feed_resistor = Spread::exactly(100e3);
    circuit.parts.latch_pull = Spread::exactly(100e3);
    CHECK(finding(assessed(circuit, few), "latch-gate-limit") == nullptr);
}

TEST_CASE("What the bleeder draws goes through the switch and the wires, too") {
    // 9.5 ohm at 5 V are half an ampere more, by Ohm's law.
    Circuit circuit = logger_circuit();
    const double before = worst_switch_load(circuit).board_voltage;
    circuit.parts.rail_bleeder = {9.5, 10.0, 10.5};
    const SwitchLoad load = worst_switch_load(circuit);
    const double supply = circuit.parts.supply_voltage.least;
    CHECK(std::abs(load.current - circuit.parts.load_current.most - supply / 9.5) < 1e-9);
    CHECK(load.board_voltage < before - 0.05);
    circuit.main_switch.current_limit = 1.0;
    circuit.parts.rail_bleeder = Spread::exactly(1.0);
    CHECK(has_failure(assessed(circuit, few), "switch-current"));
}

TEST_CASE("A switch that cannot carry the board is told in magnitudes that there are") {
    Circuit circuit = logger_circuit();
    circuit.main_switch.on = {{10.0, 0.2}};           // IRF9540 [Vishay]
    circuit.parts.main_threshold = {2.0, 4.0, 4.89};  // hardly driven at all by 4.9 V
    const SwitchLoad load = worst_switch_load(circuit);
    CHECK(load.board_voltage >= 0.0);
    CHECK(load.drop <= circuit.parts.supply_voltage.least);
    // No more than what the supply gives at this current.
    CHECK(load.dissipation <= circuit.parts.supply_voltage.least * load.current * 1.000001);
    const Assessment result = assessed(circuit, few);
    REQUIRE(has_failure(result, "switch-heat"));
    CHECK_THAT(finding(result, "switch-heat")->sentence, ContainsSubstring("burns: 4.58 W in it"));
    CHECK_THAT(finding(result, "board-voltage")->sentence,
               ContainsSubstring("nothing is left at the board"));
}

TEST_CASE("The pin's worst peak is that of its stiffest driver") {
    Circuit circuit = logger_circuit();
    circuit.parts.line_current = Spread::exactly(infinite);
    circuit.parts.line_resistance = {30.0, 50.0, 100.0};
    circuit.parts.series_resistor = Spread::exactly(10.0);
    // (3.46 V - the drop) over 40 ohm, by Ohm's law; over 110 ohm it would be less than 31 mA.
    CHECK(assessed(circuit, few).pin.peak > 0.050);
}
