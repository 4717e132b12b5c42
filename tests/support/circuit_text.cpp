// SPDX-License-Identifier: MIT
#include "support/circuit_text.hpp"

#include "circuit/parameters.hpp"

#include <algorithm>
#include <regex>
#include <sstream>
#include <stdexcept>

namespace nightlatch::circuit {
namespace {

constexpr int digits = 15;

std::string text_of(const Spread& spread, Unit unit) {
    const auto text = [unit](double value) { return to_text(value, unit, digits); };
    // Two ends are a stated tolerance, also when they are the same: a resistor gets none then.
    return spread.is_exact()
               ? text(spread.least) + ", " + text(spread.most)
               : text(spread.least) + ", " + text(spread.typical) + ", " + text(spread.most);
}

class Writer {
public:
    std::vector<NamedText> run(const Circuit& circuit) {
        const Parts<Spread>& parts = circuit.parts;
        const bool low = parts.inverter_threshold.most > 0.0;
        for (const Parameter& parameter : parameters()) {
            add_part(parts, parameter);
        }
        add("line_active", low ? "low" : "high");
        add("line_drive", !low && parts.line_pull.least < infinite ? "open-drain" : "push-pull");
        add_lists(circuit);
        add_limits(circuit);
        add_rest(circuit);
        return std::move(texts_);
    }

private:
    void add_part(const Parts<Spread>& parts, const Parameter& parameter) {
        const Spread& spread = parts.*parameter.spread;
        const bool pulled = parts.inverter_threshold.most > 0.0 || parts.line_pull.least < infinite;
        const bool enable = parts.enable_threshold.most > 0.0;
        const bool nothing =
            (spread.most == 0.0 && parameter.unit != Unit::celsius) || spread.least == infinite;
        const bool needed = parameter.absent == Absent::required;
        const bool displaced =
            (enable && parameter.of == Of::gate) || (pulled && parameter.of == Of::driven_line);
        if (!(nothing && needed) && !displaced) {
            add(parameter.key, nothing ? "none" : text_of(spread, parameter.unit));
        }
    }

    void add(std::string_view key, std::string text) {
        texts_.push_back({std::string(key), std::move(text), {}});
    }

    void add(const char* key, double value, Unit unit) {
        if (value > 0.0) {
            add(key, to_text(value, unit, digits));
        }
    }

    void add_lists(const Circuit& circuit) {
        std::string drops;
        for (std::size_t i = 0; i < circuit.diode.count; ++i) {
            const DropPoint& one = circuit.diode.points[i];
            drops += (i == 0 ? "" : ", ") + to_text(one.drop, Unit::volt, digits) + " at " +
                     to_text(one.current, Unit::ampere, digits);
        }
        add(drops.empty() ? "diode" : "diode_drop", drops.empty() ? "none" : drops);
        std::string on;
        for (const OnResistance& one : circuit.main_switch.on) {
            on += (on.empty() ? "" : ", ") + to_text(one.ohms, Unit::ohm, digits) + " at " +
                  to_text(one.gate_drive, Unit::volt, digits);
        }
        if (!on.empty()) {
            add("main_on_resistance", on);
        }
    }

    void add_limits(const Circuit& circuit) {
        const MainSwitch& main = circuit.main_switch;
        add("main_gate_limit", main.gate_limit, Unit::volt);
        add("main_drain_limit", main.drain_limit, Unit::volt);
        add("main_current_limit", main.current_limit, Unit::ampere);
        add("main_thermal_resistance", main.thermal_resistance, Unit::kelvin_per_watt);
        add("latch_gate_limit", circuit.latch.gate, Unit::volt);
        add("latch_drain_limit", circuit.latch.drain, Unit::volt);
        add("latch_current_limit", circuit.latch.current, Unit::ampere);
        add("release_gate_limit", circuit.release.gate, Unit::volt);
        add("release_drain_limit", circuit.release.drain, Unit::volt);
        add("release_current_limit", circuit.release.current, Unit::ampere);
        add("resistor_rating", circuit.ratings.resistor, Unit::watt);
        add("bleeder_rating", circuit.ratings.bleeder, Unit::watt);
        add("hold_capacitor_rating", circuit.ratings.hold_capacitor, Unit::volt);
        add("rail_capacitor_rating", circuit.ratings.rail_capacitor, Unit::volt);
    }

    void add_rest(const Circuit& circuit) {
        add("main_test_current", circuit.main_test_current, Unit::ampere);
        add("latch_test_current", circuit.latch_conduction.test_current, Unit::ampere);
        add("release_test_current", circuit.release_conduction.test_current, Unit::ampere);
        add("active_delay", circuit.pulses.active, Unit::second);
        add("inactive_delay", circuit.pulses.inactive, Unit::second);
        add("timeout", circuit.pulses.timeout, Unit::second);
        add("board_minimum", circuit.demands.board_minimum, Unit::volt);
        add("battery", circuit.demands.battery, Unit::ampere_hour);
        add("margin", circuit.demands.margin, Unit::second);
        add("supply_rise", circuit.demands.supply_rise, Unit::second);
    }

    std::vector<NamedText> texts_;
};

}  // namespace

std::vector<NamedText> texts_of(const Circuit& circuit) {
    return Writer().run(circuit);
}

Circuit read_again(const Circuit& circuit) {
    const CircuitRead read = read_circuit(texts_of(circuit));
    if (!read.circuit) {
        throw std::invalid_argument(read.problems.front().key + " " + read.problems.front().text);
    }
    return *read.circuit;
}

std::optional<Circuit> with_pasted(const Circuit& circuit, const std::string& lines) {
    std::vector<NamedText> texts;
    for (const Setting& one : circuit.stated) {
        texts.push_back({one.key, one.text, {}});
    }
    std::istringstream stream(lines);
    const std::regex form("\\s*([a-z_]+) = \"([^\"]*)\"\\s*");
    std::smatch parts;
    for (std::string line; std::getline(stream, line);) {
        if (!std::regex_match(line, parts, form)) {
            continue;
        }
        const std::string key = parts[1];
        std::erase_if(texts, [&](const NamedText& text) { return text.key == key; });
        texts.push_back({key, parts[2], {}});
    }
    return read_circuit(texts).circuit;
}

}  // namespace nightlatch::circuit
