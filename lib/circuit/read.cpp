// SPDX-License-Identifier: MIT
#include "circuit/read.hpp"

#include "base/nearest.hpp"
#include "circuit/assumed.hpp"
#include "circuit/library.hpp"
#include "circuit/parameters.hpp"
#include "circuit/read_lists.hpp"
#include "circuit/read_texts.hpp"
#include "circuit/wire.hpp"

#include <algorithm>
#include <array>
#include <utility>

namespace nightlatch::circuit {
namespace {

// clang-format off
constexpr std::array<std::string_view, 31> other_keys{
    "main_switch", "latch_transistor", "release_transistor", "inverter_transistor",
    "button_transistor", "line_active", "line_drive", "main_test_current", "latch_test_current",
    "release_test_current", "diode", "diode_drop", "main_on_resistance", "main_gate_limit",
    "main_drain_limit", "latch_gate_limit", "latch_drain_limit", "release_gate_limit",
    "release_drain_limit", "main_current_limit", "main_thermal_resistance",
    "hold_capacitor_class", "wire_gauge", "wire_length", "active_delay", "inactive_delay",
    "timeout", "board_minimum", "battery", "margin", "supply_rise"};

// clang-format on

bool is_resistor_part(std::string_view key) {
    return key.ends_with("_resistor") || key.ends_with("_pull") || key == "rail_bleeder";
}

class Reader {
public:
    explicit Reader(std::span<const NamedText> texts)
        : texts_(texts), kind_(read_parts(texts_, circuit_)), stages_(texts_, circuit_) {}

    CircuitRead run() {
        find_unknown_and_repeated();
        read_parameters();
        read_lists();
        read_single_values();
        read_wires();
        read_ratings(texts_, circuit_, read_.assumptions);
        check_together();
        check_stages();
        read_.problems = texts_.take_problems();
        if (read_.problems.empty()) {
            read_.circuit = circuit_;
            for (const NamedText& text : texts_.all()) {
                read_.circuit->stated.push_back({text.key, std::string(spelling_of(text.text))});
            }
        }
        return std::move(read_);
    }

private:
    void find_unknown_and_repeated() {
        const std::vector<std::string_view> known = circuit_keys();
        for (const NamedText& text : texts_.all()) {
            if (texts_.find(text.key) != &text) {
                texts_.problem(text, "is there twice");
            }
            if (std::find(known.begin(), known.end(), text.key) == known.end()) {
                const auto near = nearest(text.key, known);
                texts_.problem(text,
                               near ? "is unknown; did you mean " + std::string(*near) + "?"
                                    : std::string("is unknown"));
            }
        }
    }

    void read_parameters() {
        for (const Parameter& parameter : parameters()) {
            const NamedText* text = texts_.find(parameter.key);
            Spread& spread = circuit_.parts.*parameter.spread;
            if (!stages_.has(parameter.of)) {
                has_no_place(parameter, text, spread);
            } else if (text == nullptr) {
                assume(parameter, spread);
            } else if (text->text == "none") {
                leave_out(parameter, *text, spread);
            } else {
                read_one(parameter, *text, spread);
            }
        }
    }

    void has_no_place(const Parameter& parameter, const NamedText* text, Spread& spread) {
        if (text != nullptr && text->text != "none") {
            texts_.problem(*text, std::string(StatedStages::wanted_for(parameter.of)));
        }
        spread = Spread::exactly(parameter.absent == Absent::infinite_value ? infinite : 0.0);
    }

    void leave_out(const Parameter& parameter, const NamedText& text, Spread& spread) {
        if (parameter.absent == Absent::required) {
            texts_.problem(text, "cannot be left out");
            return;
        }
        spread = Spread::exactly(parameter.absent == Absent::zero ? 0.0 : infinite);
    }

    void read_one(const Parameter& parameter, const NamedText& text, Spread& spread) {
        const auto read = parse_spread(text.text, parameter.unit, parameter.range);
        if (!read) {
            texts_.problem(text, read.error());
            return;
        }
        spread = read->spread;
        if (parameter.key == "hold_capacitor" && kind_ != nullptr) {
            spread = effective_capacitance(*kind_, spread, read->tolerance_stated);
        } else if (!read->tolerance_stated && is_resistor_part(parameter.key)) {
            spread = Spread::within(spread.typical, resistor_tolerance);
        }
    }

    void assume(const Parameter& parameter, Spread& spread) {
        if (is_of_a_named_part(parameter.key)) {
            return;
        }
        if (is_usually_absent(parameter.key)) {
            spread = Spread::exactly(parameter.absent == Absent::zero ? 0.0 : infinite);
            return;
        }
        if (parameter.key == "hold_leakage" && kind_ != nullptr) {
            const Spread& capacitor = circuit_.parts.hold_capacitor;
            spread = capacitor_leakage(*kind_, capacitor.most, circuit_.parts.line_high.most);
            return;
        }
        if (parameter.key == "wire_resistance" && texts_.find("wire_gauge") != nullptr) {
            return;
        }
        const Assumed* found = assumed_for(parameter.key);
        if (found == nullptr) {
            texts_.missing(parameter.key, what_is_missing(parameter));
            return;
        }
        spread = found->spread;
        read_.assumptions.push_back(
            {parameter.key, parameter.words, spread, parameter.unit, found->why});
    }

    /// A name that the library does not have is a problem by itself.
    [[nodiscard]] bool is_of_a_named_part(std::string_view key) const {
        constexpr std::array parts{std::pair{"main_threshold", "main_switch"},
                                   std::pair{"latch_threshold", "latch_transistor"},
                                   std::pair{"latch_gain", "latch_transistor"},
                                   std::pair{"release_threshold", "release_transistor"},
                                   std::pair{"release_resistance", "release_transistor"},
                                   std::pair{"release_gain", "release_transistor"},
                                   std::pair{"inverter_threshold", "inverter_transistor"},
                                   std::pair{"inverter_resistance", "inverter_transistor"},
                                   std::pair{"button_gain", "button_transistor"},
                                   std::pair{"diode_leakage", "diode"}};
        return std::any_of(parts.begin(), parts.end(), [&](const auto& row) {
            const bool may_be_none = key == "diode_leakage";
            return key == row.first && texts_.has(row.second) &&
                   (may_be_none || !texts_.is_none(row.second));
        });
    }

    [[nodiscard]] std::string what_is_missing(const Parameter& parameter) const {
        std::string sentence = "is missing: " + std::string(parameter.words);
        if (parameter.key == "main_threshold") {
            sentence += "; or name a part, main_switch = \"AO3401A\"";
        } else if (parameter.key == "latch_threshold") {
            sentence += "; or name a part, latch_transistor = \"BSS138\"";
        } else if (parameter.key == "release_threshold") {
            sentence += "; or name a part, release_transistor = \"BSS138\"";
        } else if (parameter.key == "inverter_threshold") {
            sentence += "; or name a part, inverter_transistor = \"AO3401A\"";
        } else if (parameter.key == "diode_leakage") {
            sentence += R"(; or name a part, diode = "BAT54", or "none")";
        } else if (parameter.absent != Absent::required) {
            sentence += "; if there is none, say \"none\"";
        }
        return sentence;
    }

    void read_lists() {
        if (const NamedText* text = texts_.find("diode_drop")) {
            if (const auto diode = parse_drops(text->text)) {
                circuit_.diode = *diode;
            } else {
                texts_.problem(*text, diode.error());
            }
        } else if (texts_.find("diode") == nullptr) {
            texts_.missing("diode", R"(is missing: name a part, "BAT54", or say "none")");
        }
        if (const NamedText* text = texts_.find("main_on_resistance")) {
            if (const auto on = parse_on_resistances(text->text)) {
                circuit_.main_switch.on = *on;
            } else {
                texts_.problem(*text, on.error());
            }
        }
    }

    void read_single_values() {
        MainSwitch& part = circuit_.main_switch;
        constexpr Range limit{1.0, 1000.0};
        texts_.single("main_gate_limit", Unit::volt, {1.0, 100.0}, part.gate_limit);
        texts_.single("main_drain_limit", Unit::volt, limit, part.drain_limit);
        texts_.single("latch_gate_limit", Unit::volt, {1.0, 100.0}, circuit_.latch.gate);
        texts_.single("latch_drain_limit", Unit::volt, limit, circuit_.latch.drain);
        texts_.single("release_gate_limit", Unit::volt, {1.0, 100.0}, circuit_.release.gate);
        texts_.single("release_drain_limit", Unit::volt, limit, circuit_.release.drain);
        texts_.single("main_current_limit", Unit::ampere, {0.01, 500.0}, part.current_limit);
        texts_.single("main_thermal_resistance",
                      Unit::kelvin_per_watt,
                      {0.5, 1000.0},
                      part.thermal_resistance);
        constexpr Range test_current{1e-6, 0.1};
        texts_.single("main_test_current", Unit::ampere, test_current, circuit_.main_test_current);
        texts_.single("latch_test_current",
                      Unit::ampere,
                      test_current,
                      circuit_.latch_conduction.test_current);
        texts_.single("release_test_current",
                      Unit::ampere,
                      test_current,
                      circuit_.release_conduction.test_current);
        PulseTrain& pulses = circuit_.pulses;
        texts_.single("active_delay", Unit::second, {1e-6, 60.0}, pulses.active);
        texts_.single("inactive_delay", Unit::second, {1e-6, 60.0}, pulses.inactive);
        texts_.single("timeout", Unit::second, {1e-6, 600.0}, pulses.timeout);
        Demands& demands = circuit_.demands;
        texts_.single("board_minimum", Unit::volt, {1.0, 60.0}, demands.board_minimum);
        texts_.single("battery", Unit::ampere_hour, {0.01, 10e3}, demands.battery);
        texts_.single("margin", Unit::second, {1e-3, 60.0}, demands.margin);
        texts_.single("supply_rise", Unit::second, {1e-8, 10.0}, demands.supply_rise);
    }

    void read_wires() {
        const NamedText* gauge = texts_.find("wire_gauge");
        const NamedText* length = texts_.find("wire_length");
        if (gauge == nullptr && length == nullptr) {
            return;
        }
        if (gauge == nullptr || length == nullptr) {
            texts_.problem(gauge != nullptr ? *gauge : *length,
                           "wire_gauge and wire_length are stated together");
            return;
        }
        if (texts_.find("wire_resistance") != nullptr) {
            texts_.problem(*gauge, "is stated beside wire_resistance; one of the two is wanted");
        }
        double metres = 0.0;
        texts_.single("wire_length", Unit::metre, {0.005, 100.0}, metres);
        const auto number = parse_gauge(gauge->text);
        if (!number) {
            texts_.problem(*gauge, number.error());
            return;
        }
        const Spread& celsius = circuit_.parts.temperature;
        circuit_.parts.wire_resistance = {wire_resistance(*number, metres, celsius.least),
                                          wire_resistance(*number, metres, celsius.typical),
                                          wire_resistance(*number, metres, celsius.most)};
    }

    /// What is there and wrong beside another; of what was not read is nothing to say.
    void check_below(std::string_view key,
                     const Spread& low,
                     const Spread& high,
                     const char* name) {
        const NamedText* text = texts_.find(key);
        if (text != nullptr && low.most > 0.0 && high.least > 0.0 && low.most >= high.least) {
            texts_.problem(*text,
                           "reaches " + to_text(low.most, Unit::volt) + ", but " + name +
                               " may be as low as " + to_text(high.least, Unit::volt));
        }
    }

    void check_stages() {
        const Parts<Spread>& parts = circuit_.parts;
        check_below("inverter_threshold", parts.inverter_threshold, parts.line_high, "line_high");
        check_below("enable_hysteresis",
                    parts.enable_hysteresis,
                    parts.enable_threshold,
                    "enable_threshold");
        if (stages_.is_open_drain() && !texts_.has("line_pull")) {
            texts_.missing("line_pull", "is missing: an open-drain line has a pull-up");
        }
        if (stages_.is_open_drain() && !stages_.has(Of::inverter) && !texts_.has("boot_time")) {
            texts_.missing("boot_time",
                           "is missing: until the driver's probe the pull-up of an open-drain, "
                           "active-high line charges the hold capacitor");
        }
    }

    void check_together() {
        const Parts<Spread>& parts = circuit_.parts;
        const bool regulates = parts.regulator_output.most > 0.0;
        check_below("cut_out",
                    parts.cut_out,
                    regulates ? parts.regulator_output : parts.supply_voltage,
                    regulates ? "regulator_output" : "the supply");
        const bool voltage = parts.back_feed_voltage.most > 0.0;
        const bool current = parts.back_feed_current.most > 0.0;
        if (voltage != current) {
            const char* const key = voltage ? "back_feed_voltage" : "back_feed_current";
            if (const NamedText* text = texts_.find(key)) {
                texts_.problem(*text,
                               "back_feed_voltage and back_feed_current are stated together");
            }
        }
    }

    Texts texts_;
    CircuitRead read_;
    Circuit circuit_;
    const CapacitorClass* kind_;
    StatedStages stages_;
};

}  // namespace

std::vector<std::string_view> circuit_keys() {
    std::vector<std::string_view> keys;
    keys.reserve(parameter_count + other_keys.size());
    for (const Parameter& parameter : parameters()) {
        keys.push_back(parameter.key);
    }
    keys.insert(keys.end(), other_keys.begin(), other_keys.end());
    keys.insert(keys.end(), rating_keys().begin(), rating_keys().end());
    return keys;
}

CircuitRead read_circuit(std::span<const NamedText> texts) {
    return Reader(texts).run();
}

}  // namespace nightlatch::circuit
