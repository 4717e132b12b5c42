// SPDX-License-Identifier: MIT
#include "circuit/parameters.hpp"

#include "circuit/stages.hpp"

#include <algorithm>
#include <cmath>

namespace nightlatch::circuit {
namespace {

#define NIGHTLATCH_PART(name) &Parts<Spread>::name, &Parts<double>::name

constexpr Range small_current{1e-12, 1.0};
constexpr Range resistor{1.0, 100e6};
constexpr Range gate_threshold{0.2, 6.0};
constexpr Range gain{10.0, 1000.0};
constexpr Range capacitor_small{1e-12, 100e-6};

// clang-format off
constexpr std::array<Parameter, parameter_count> table{{
    {"supply_voltage", "the supply's voltage", Unit::volt, {1.5, 60.0}, Absent::required, Of::every, BadEnd::depends, NIGHTLATCH_PART(supply_voltage)},
    {"source_resistance", "the source's own resistance", Unit::ohm, {1e-4, 100.0}, Absent::zero, Of::every, BadEnd::depends, NIGHTLATCH_PART(source_resistance)},
    {"load_current", "the board's current at full load", Unit::ampere, {1e-3, 50.0}, Absent::required, Of::every, BadEnd::neither, NIGHTLATCH_PART(load_current)},
    {"halt_current", "the board's current after halt", Unit::ampere, {1e-5, 50.0}, Absent::required, Of::every, BadEnd::depends, NIGHTLATCH_PART(halt_current)},
    {"rail_capacitance", "the capacitance on the rail", Unit::farad, {1e-7, 1.0}, Absent::required, Of::every, BadEnd::depends, NIGHTLATCH_PART(rail_capacitance)},
    {"cut_out", "the regulator's cut-out", Unit::volt, {0.3, 50.0}, Absent::required, Of::every, BadEnd::most, NIGHTLATCH_PART(cut_out)},
    {"rail_leakage", "the rail's leakage below the cut-out", Unit::ampere, small_current, Absent::zero, Of::every, BadEnd::least, NIGHTLATCH_PART(rail_leakage)},
    {"rail_bleeder", "the rail's bleeder", Unit::ohm, resistor, Absent::infinite_value, Of::every, BadEnd::depends, NIGHTLATCH_PART(rail_bleeder)},
    {"back_feed_voltage", "the voltage that feeds the rail from outside", Unit::volt, {0.1, 60.0}, Absent::zero, Of::every, BadEnd::depends, NIGHTLATCH_PART(back_feed_voltage)},
    {"back_feed_current", "the current that feeds the rail from outside", Unit::ampere, {1e-7, 5.0}, Absent::zero, Of::every, BadEnd::depends, NIGHTLATCH_PART(back_feed_current)},
    {"line_high", "the post-halt line's high level", Unit::volt, {1.0, 5.5}, Absent::required, Of::every, BadEnd::depends, NIGHTLATCH_PART(line_high)},
    {"line_resistance", "the pin driver's resistance", Unit::ohm, {1.0, 10e3}, Absent::zero, Of::driven_line, BadEnd::most, NIGHTLATCH_PART(line_resistance)},
    {"line_current", "the most that the pin's driver delivers", Unit::ampere, {1e-4, 1.0}, Absent::infinite_value, Of::driven_line, BadEnd::least, NIGHTLATCH_PART(line_current)},
    {"line_pull", "the line's pull-up", Unit::ohm, {500.0, 10e6}, Absent::infinite_value, Of::pulled_line, BadEnd::most, NIGHTLATCH_PART(line_pull)},
    {"inverter_threshold", "the inverter's threshold", Unit::volt, gate_threshold, Absent::required, Of::inverter, BadEnd::neither, NIGHTLATCH_PART(inverter_threshold)},
    {"inverter_resistance", "the inverter's RDS(on)", Unit::ohm, {1e-3, 10e3}, Absent::required, Of::inverter, BadEnd::most, NIGHTLATCH_PART(inverter_resistance)},
    {"pin_limit", "the pin's current limit", Unit::ampere, {1e-4, 0.2}, Absent::required, Of::every, BadEnd::neither, NIGHTLATCH_PART(pin_limit)},
    {"line_dies", "the rail's level below which the line is dead", Unit::volt, {0.3, 60.0}, Absent::zero, Of::every, BadEnd::depends, NIGHTLATCH_PART(line_dies)},
    {"boot_pull", "the line's pull-up between power-on and the driver's probe", Unit::ohm, {500.0, 10e6}, Absent::infinite_value, Of::every, BadEnd::neither, NIGHTLATCH_PART(boot_pull)},
    {"boot_time", "the time from power-on to the driver's probe", Unit::second, {1e-3, 600.0}, Absent::zero, Of::every, BadEnd::neither, NIGHTLATCH_PART(boot_time)},
    {"series_resistor", "the series resistor", Unit::ohm, {1.0, 1e6}, Absent::zero, Of::every, BadEnd::most, NIGHTLATCH_PART(series_resistor)},
    {"diode_factor", "the diode's drop", Unit::factor, {0.1, 3.0}, Absent::required, Of::every, BadEnd::most, NIGHTLATCH_PART(diode_factor)},
    {"diode_leakage", "the diode's reverse leakage", Unit::ampere, {1e-12, 0.01}, Absent::zero, Of::every, BadEnd::most, NIGHTLATCH_PART(diode_leakage)},
    {"hold_capacitor", "the hold capacitor", Unit::farad, {1e-9, 22e-3}, Absent::zero, Of::every, BadEnd::depends, NIGHTLATCH_PART(hold_capacitor)},
    {"hold_leakage", "the hold capacitor's leakage", Unit::ampere, {1e-12, 0.01}, Absent::zero, Of::every, BadEnd::most, NIGHTLATCH_PART(hold_leakage)},
    {"bleed_resistor", "the bleed resistor", Unit::ohm, {100.0, 100e6}, Absent::infinite_value, Of::every, BadEnd::least, NIGHTLATCH_PART(bleed_resistor)},
    {"release_threshold", "the release transistor's threshold", Unit::volt, gate_threshold, Absent::required, Of::every, BadEnd::depends, NIGHTLATCH_PART(release_threshold)},
    {"release_resistance", "the release transistor's RDS(on)", Unit::ohm, {1e-3, 200.0}, Absent::zero, Of::every, BadEnd::depends, NIGHTLATCH_PART(release_resistance)},
    {"release_gain", "the release transistor's current gain", Unit::factor, gain, Absent::required, Of::bipolar_release, BadEnd::least, NIGHTLATCH_PART(release_gain)},
    {"release_base", "the resistor at the release transistor's base", Unit::ohm, resistor, Absent::required, Of::bipolar_release, BadEnd::depends, NIGHTLATCH_PART(release_base)},
    {"feed_resistor", "the feed resistor", Unit::ohm, {100.0, 10e6}, Absent::zero, Of::every, BadEnd::depends, NIGHTLATCH_PART(feed_resistor)},
    {"latch_pull", "the pull-down of the latch transistor's gate", Unit::ohm, {1e3, 100e6}, Absent::infinite_value, Of::every, BadEnd::depends, NIGHTLATCH_PART(latch_pull)},
    {"latch_threshold", "the latch transistor's threshold", Unit::volt, gate_threshold, Absent::required, Of::gate, BadEnd::least, NIGHTLATCH_PART(latch_threshold)},
    {"latch_gain", "the latch transistor's current gain", Unit::factor, gain, Absent::required, Of::bipolar_latch, BadEnd::most, NIGHTLATCH_PART(latch_gain)},
    {"gate_pull", "the pull-up of the main switch's gate", Unit::ohm, {100.0, 10e6}, Absent::required, Of::gate, BadEnd::depends, NIGHTLATCH_PART(gate_pull)},
    {"gate_series", "the resistor between gate and latch transistor", Unit::ohm, resistor, Absent::zero, Of::gate, BadEnd::depends, NIGHTLATCH_PART(gate_series)},
    {"gate_zener", "the Zener diode at the gate", Unit::volt, {1.0, 60.0}, Absent::infinite_value, Of::gate, BadEnd::depends, NIGHTLATCH_PART(gate_zener)},
    {"gate_capacitance", "the gate-source capacitance", Unit::farad, capacitor_small, Absent::zero, Of::gate, BadEnd::least, NIGHTLATCH_PART(gate_capacitance)},
    {"drain_capacitance", "the gate-drain capacitance", Unit::farad, capacitor_small, Absent::zero, Of::gate, BadEnd::least, NIGHTLATCH_PART(drain_capacitance)},
    {"main_threshold", "the main switch's threshold", Unit::volt, gate_threshold, Absent::required, Of::gate, BadEnd::depends, NIGHTLATCH_PART(main_threshold)},
    {"button_resistor", "the resistor between button and gate", Unit::ohm, {1.0, 1e6}, Absent::zero, Of::gate, BadEnd::neither, NIGHTLATCH_PART(button_resistor)},
    {"button_gain", "the button transistor's current gain", Unit::factor, gain, Absent::required, Of::bipolar_button, BadEnd::neither, NIGHTLATCH_PART(button_gain)},
    {"button_base", "the resistor at the button transistor's base", Unit::ohm, resistor, Absent::required, Of::bipolar_button, BadEnd::neither, NIGHTLATCH_PART(button_base)},
    {"enable_threshold", "the enable pin's rising threshold", Unit::volt, {0.2, 10.0}, Absent::required, Of::enable_pin, BadEnd::least, NIGHTLATCH_PART(enable_threshold)},
    {"enable_hysteresis", "the enable pin's hysteresis", Unit::volt, {1e-3, 5.0}, Absent::zero, Of::enable_pin, BadEnd::depends, NIGHTLATCH_PART(enable_hysteresis)},
    {"enable_delay", "the enable pin's turn-off delay", Unit::second, {1e-6, 1.0}, Absent::zero, Of::enable_pin, BadEnd::depends, NIGHTLATCH_PART(enable_delay)},
    {"regulator_output", "the regulator's output voltage", Unit::volt, {0.8, 60.0}, Absent::zero, Of::enable_pin, BadEnd::depends, NIGHTLATCH_PART(regulator_output)},
    {"output_discharge", "the output's discharge resistance", Unit::ohm, resistor, Absent::infinite_value, Of::enable_pin, BadEnd::depends, NIGHTLATCH_PART(output_discharge)},
    {"wire_resistance", "the wires' resistance", Unit::ohm, {1e-5, 50.0}, Absent::zero, Of::every, BadEnd::depends, NIGHTLATCH_PART(wire_resistance)},
    {"contact_resistance", "the contacts' resistance", Unit::ohm, {1e-5, 10.0}, Absent::zero, Of::every, BadEnd::depends, NIGHTLATCH_PART(contact_resistance)},
    {"temperature", "the temperature", Unit::celsius, {-55.0, 125.0}, Absent::required, Of::every, BadEnd::depends, NIGHTLATCH_PART(temperature)},
}};
// clang-format on

#undef NIGHTLATCH_PART

}  // namespace

std::span<const Parameter, parameter_count> parameters() noexcept {
    return table;
}

std::optional<std::size_t> parameter_named(std::string_view key) noexcept {
    for (std::size_t i = 0; i < table.size(); ++i) {
        if (table[i].key == key) {
            return i;
        }
    }
    return std::nullopt;
}

double on_resistance(const MainSwitch& main_switch, double gate_drive, double threshold) {
    const auto& on = main_switch.on;
    if (on.empty()) {
        return 0.0;
    }
    if (gate_drive >= on.back().gate_drive) {
        return on.back().ohms;
    }
    if (gate_drive <= threshold) {
        return infinite;
    }
    if (gate_drive < on.front().gate_drive) {
        const double published = std::max(on.front().gate_drive - threshold, 1e-3);
        return on.front().ohms * std::max(1.0, published / (gate_drive - threshold));
    }
    const auto above = std::find_if(on.begin(), on.end(), [&](const OnResistance& point) {
        return point.gate_drive > gate_drive;
    });
    const OnResistance& high = *above;
    const OnResistance& low = *(above - 1);
    const double part = (gate_drive - low.gate_drive) / (high.gate_drive - low.gate_drive);
    return low.ohms + part * (high.ohms - low.ohms);
}

Values values_at(const Circuit& circuit, const Position& position) {
    Values values;
    for (std::size_t i = 0; i < table.size(); ++i) {
        values.parts.*table[i].value = (circuit.parts.*table[i].spread).at(position[i]);
    }
    Parts<double>& parts = values.parts;
    const TemperatureBehaviour& behaviour = circuit.behaviour;
    const double warmer = parts.temperature - 25.0;
    for (double* const threshold_now :
         {&parts.release_threshold, &parts.latch_threshold, &parts.main_threshold}) {
        *threshold_now = std::max(*threshold_now + behaviour.threshold * warmer, 0.05);
    }
    const double leakier = std::exp2(warmer / behaviour.leakage_doubles);
    parts.diode_leakage *= leakier;
    parts.hold_leakage *= leakier;
    values.diode = circuit.diode;
    for (std::size_t i = 0; i < values.diode.count; ++i) {
        double& drop = values.diode.points[i].drop;
        drop = std::max(drop * parts.diode_factor + behaviour.diode_drop * warmer, 0.02);
    }
    values.supply_path = parts.source_resistance + parts.wire_resistance +
                         parts.contact_resistance + on_resistance(circuit.main_switch, parts);
    values.latch = circuit.latch_conduction;
    values.release = circuit.release_conduction;
    if (parts.release_resistance > 0.0) {  // a named part's own, or what is stated
        values.release.on.ohms = parts.release_resistance;
    }
    values.main.test_current = circuit.main_test_current;
    if (!circuit.main_switch.on.empty()) {
        values.main.on = circuit.main_switch.on.front();
    }
    values.pulses = circuit.pulses;
    return values;
}

double on_resistance(const MainSwitch& main_switch, const Parts<double>& parts) {
    if (has_enable_pin(parts)) {
        return main_switch.on.empty() ? 0.0 : main_switch.on.front().ohms;
    }
    return std::min(on_resistance(main_switch, gate_drive(parts), parts.main_threshold), 1e3);
}

}  // namespace nightlatch::circuit
