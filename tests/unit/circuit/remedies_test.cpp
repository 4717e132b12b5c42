// SPDX-License-Identifier: MIT
// What is proposed is pasted, and the whole circuit judged again.
#include "circuit/assessment.hpp"
#include "circuit/parameters.hpp"
#include "support/circuit_text.hpp"
#include "support/logger_circuit.hpp"
#include "support/random_circuit.hpp"
#include "support/seeds.hpp"

#include <algorithm>
#include <map>
#include <set>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch::circuit;
using Catch::Matchers::ContainsSubstring;
using nightlatch::test::Dice;

namespace {

using Changes = std::map<std::string, std::string>;

Circuit changed(const Circuit& circuit, const Changes& changes) {
    std::string lines;
    for (const auto& [key, text] : changes) {
        lines += to_text(Setting{key, text}) + "\n";
    }
    const auto result = with_pasted(circuit, lines);
    REQUIRE(result);
    return *result;
}

/// The lines of [circuit] without those whose key begins so.
Circuit without(const Circuit& circuit, std::string_view beginning, const Setting& instead) {
    std::vector<NamedText> texts;
    for (const Setting& one : circuit.stated) {
        if (!one.key.starts_with(beginning) || one.key.ends_with("pull") ||
            one.key.ends_with("delay")) {
            texts.push_back({one.key, one.text, {}});
        }
    }
    texts.push_back({instead.key, instead.text, {}});
    const CircuitRead read = read_circuit(texts);
    REQUIRE(read.circuit);
    return *read.circuit;
}

/// As people write them: parts by name or by value, well or badly chosen.
Circuit draft(std::uint64_t seed) {
    Dice dice(seed);
    Circuit circuit = logger_circuit();
    const Kind kind = all_kinds[seed % all_kinds.size()];
    const Values values = random_values(seed, kind);
    for (const Parameter& parameter : parameters()) {
        const double value = values.parts.*parameter.value;
        circuit.parts.*parameter.spread = value == infinite || value == 0.0
                                              ? Spread::exactly(value)
                                              : Spread::within(value, 0.05);
    }
    circuit.parts.temperature = {-10.0, 20.0, 50.0};
    circuit.diode = values.diode;
    circuit.demands.margin = dice.one_in(2) ? 0.1 : 0.0;
    circuit.ratings.hold_capacitor = dice.one_in(3) ? 6.3 : 0.0;
    circuit = read_again(circuit);
    if (kind != Kind::plain) {
        return circuit;
    }
    const std::vector<std::string> small{"BSS138", "2N7000", "2N7002"};
    if (dice.one_in(2)) {
        circuit = without(circuit, "release_", {"release_transistor", dice.pick(small)});
    }
    if (dice.one_in(2)) {
        circuit = without(circuit, "latch_", {"latch_transistor", dice.pick(small)});
    }
    if (dice.one_in(2)) {
        const std::vector<std::string> large{"AO3401A", "Si2301BDS", "IRF9540", "IRF4905"};
        circuit = without(circuit, "main_", {"main_switch", dice.pick(large)});
    }
    if (dice.one_in(4)) {
        const std::string volts = dice.one_in(2) ? "12 V +-5 %" : "24 V +-5 %";
        circuit = changed(circuit, {{"supply_voltage", volts}, {"board_minimum", "10 V"}});
    }
    return circuit;
}

std::set<std::string> ids_of(const Assessment& judged) {
    std::set<std::string> ids;
    for (const Finding& one : judged.findings) {
        if (one.weight != Finding::Weight::note) {
            ids.insert(one.id);
        }
    }
    return ids;
}

std::string lines_of(const Settings& settings) {
    std::string lines;
    for (const Setting& one : settings) {
        lines += "    " + to_text(one) + "\n";
    }
    return lines;
}

/// The findings of the circuit with the lines pasted.
std::set<std::string> ids_with(const Circuit& circuit, const Settings& settings) {
    const auto pasted = with_pasted(circuit, lines_of(settings));
    REQUIRE(pasted);
    return ids_of(judged(*pasted));
}

const Finding* finding(const Assessment& judged, std::string_view id) {
    const auto found = std::find_if(judged.findings.begin(),
                                    judged.findings.end(),
                                    [&](const Finding& one) { return one.id == id; });
    return found == judged.findings.end() ? nullptr : &*found;
}

/// With its remedy the finding is gone, and what comes instead is named.
void check_remedy(const Circuit& circuit, const Assessment& before, const Finding& one) {
    const std::set<std::string> then = ids_with(circuit, one.settings);
    INFO(one.id << ": " << one.remedy << "\n" << lines_of(one.settings));
    CHECK_FALSE(then.contains(one.id));
    const std::set<std::string> had = ids_of(before);
    for (const std::string& id : then) {
        INFO("adds " << id);
        CHECK((had.contains(id) || one.remedy.find(id) != std::string::npos));
    }
}

void check_what_if(const Circuit& circuit, const Assessment& before, const WhatIf& line) {
    const auto pasted = with_pasted(circuit, lines_of(line.settings));
    INFO(line.change << "\n" << lines_of(line.settings));
    REQUIRE(pasted);
    const Assessment then = judged(*pasted);
    const double wanted = circuit.demands.margin > 0.0 ? circuit.demands.margin : default_margin;
    CHECK(std::abs(then.worst.transient.margin - line.margin) < 1e-6);
    CHECK(line.enough == (then.worst.transient.margin >= wanted));
    const std::set<std::string> had = ids_of(before);
    std::set<std::string> adds;
    for (const std::string& id : ids_of(then)) {
        if (!had.contains(id)) {
            adds.insert(id);
        }
    }
    CHECK(adds == std::set<std::string>(line.adds.begin(), line.adds.end()));
}

}  // namespace

TEST_CASE("Every remedy makes its finding go, and names what it adds") {
    const std::uint64_t seed = nightlatch::test::seed_for("remedies of random circuits");
    constexpr int circuits = 8;
    std::map<std::string, int> remedied;
    for (int i = 0; i < circuits; ++i) {
        INFO("circuit " << i);
        const Circuit circuit = draft(seed + static_cast<std::uint64_t>(i));
        const Assessment assessment = assess(circuit, 10);
        for (const Finding& one : assessment.findings) {
            CHECK((one.weight == Finding::Weight::note || !one.remedy.empty()));
            if (!one.settings.empty()) {
                ++remedied[one.id];
                check_remedy(circuit, assessment, one);
            }
        }
        for (const WhatIf& line : assessment.what_ifs) {
            check_what_if(circuit, assessment, line);
        }
    }
    CHECK(remedied.size() >= 2);
}

TEST_CASE("Each finding that a value or a part can mend has a remedy that does") {
    struct Wrong {
        const char* id;
        Changes changes;
    };

    const Circuit logger = read_again(logger_circuit());
    for (const Wrong& wrong : {
             Wrong{"no-hold-capacitor", {{"hold_capacitor", "none"}}},
             Wrong{"no-diode", {}},
             Wrong{"never-on", {{"latch_threshold", "5 V"}}},
             Wrong{"rail-shorted", {{"feed_resistor", "none"}}},
             Wrong{"pin-overload", {{"series_resistor", "10 ohm"}}},
             Wrong{"slow-charge", {{"series_resistor", "1 kohm"}}},
             Wrong{"slow-again", {{"bleed_resistor", "10 Mohm"}}},
             Wrong{"boot-pull", {{"boot_pull", "40 kohm"}, {"boot_time", "10 s"}}},
             Wrong{"self-start", {{"drain_capacitance", "100 nF"}, {"supply_rise", "1 ms"}}},
             Wrong{"comes-back", {{"rail_bleeder", "none"}}},
             Wrong{"small-margin", {{"margin", "90 ms"}}},
             Wrong{"never-releases", {{"release_threshold", "2.9 V, 3.2 V"}}},
             Wrong{"weak-gate-drive",
                   {{"main_on_resistance", "200 mohm at 10 V"}, {"main_threshold", "3 V"}}},
             Wrong{"gate-limit", {{"main_gate_limit", "4 V"}}},
             Wrong{"drain-limit", {{"main_drain_limit", "5 V"}}},
             Wrong{"latch-gate-limit", {{"latch_gate_limit", "5 V"}}},
             Wrong{"latch-drain-limit", {{"latch_drain_limit", "5 V"}}},
             Wrong{"latch-current", {{"latch_current_limit", "1 mA"}, {"gate_pull", "4.7 k"}}},
             Wrong{"release-current",
                   {{"release_current_limit", "1 mA"}, {"feed_resistor", "4.7 k"}}},
             Wrong{"release-gate-limit", {{"release_gate_limit", "3 V"}}},
             Wrong{"release-drain-limit", {{"release_drain_limit", "5 V"}}},
             Wrong{"switch-current", {{"main_current_limit", "0.5 A"}}},
             Wrong{"resistor-heat", {{"gate_pull", "150 ohm"}}},
             Wrong{"bleeder-heat", {{"bleeder_rating", "0.1 W"}}},
             Wrong{"hold-capacitor-voltage", {{"hold_capacitor_rating", "4 V"}}},
             Wrong{"rail-capacitor-voltage", {{"rail_capacitor_rating", "4 V"}}},
         }) {
        INFO(wrong.id);
        Circuit circuit = changed(logger, wrong.changes);
        if (wrong.id == std::string_view("no-diode")) {
            circuit = without(logger, "diode_drop", {"diode", "none"});
        }
        const Assessment assessment = assess(circuit, 10);
        const Finding* one = finding(assessment, wrong.id);
        REQUIRE(one != nullptr);
        CHECK_FALSE(one->settings.empty());
        check_remedy(circuit, assessment, *one);
    }
}

TEST_CASE("A leaking diode's remedy is another diode, by name") {
    const Circuit logger = changed(read_again(logger_circuit()), {{"release_threshold", "1.3 V"}});
    const Circuit leaking = without(logger, "diode", {"diode", "1N5819"});
    const Assessment assessment = assess(leaking, 10);
    const auto line =
        std::find_if(assessment.what_ifs.begin(), assessment.what_ifs.end(), [](const WhatIf& one) {
            return one.settings.front() == Setting{"diode", "BAT54"};
        });
    REQUIRE(line != assessment.what_ifs.end());
    CHECK(line->change == "diode BAT54 instead of 1N5819");
}

TEST_CASE("A longer active level is among the proposals, with the node's property") {
    const Circuit circuit =
        changed(read_again(logger_circuit()),
                {{"active_delay", "10 ms"}, {"inactive_delay", "10 ms"}, {"timeout", "20 ms"}});
    const Assessment assessment = assess(circuit, 10);
    const auto line =
        std::find_if(assessment.what_ifs.begin(), assessment.what_ifs.end(), [](const WhatIf& one) {
            return one.settings.front().key == "active_delay";
        });
    REQUIRE(line != assessment.what_ifs.end());
    CHECK(line->enough);
    CHECK_THAT(line->cost, ContainsSubstring("active-delay-ms = <"));
}

TEST_CASE("Where nothing helps, the remedy says which quantity is short, and by how much") {
    const Circuit logger = read_again(logger_circuit());
    const Circuit fed =
        changed(logger, {{"back_feed_voltage", "4 V"}, {"back_feed_current", "2 A"}});
    const Assessment assessment = assess(fed, 10);
    const Finding* one = finding(assessment, "comes-back");
    REQUIRE(one != nullptr);
    CHECK(one->settings.empty());
    const Transient& worst = assessment.worst.transient;
    CHECK_THAT(one->remedy,
               ContainsSubstring("must settle below " + to_text(worst.latch_level, Unit::volt)) &&
                   ContainsSubstring(to_text(worst.rail_settles - worst.latch_level, Unit::volt) +
                                     " lower"));
}
