// SPDX-License-Identifier: MIT
#include "circuit/main_switch.hpp"

#include "circuit/parameters.hpp"
#include "circuit/stages.hpp"

#include <algorithm>
#include <array>
#include <utility>

namespace nightlatch::circuit {
namespace {

constexpr double rise_per_kelvin = 0.5 / 100.0;
constexpr double hottest = 400.0;  // °C, where a runaway is cut
constexpr int settling_steps = 60;

}  // namespace

SwitchLoad switch_load(const Circuit& circuit, const Values& values) {
    const Parts<double>& parts = values.parts;
    const MainSwitch& part = circuit.main_switch;
    const double current = parts.load_current + stages_of(values).rail_feed / parts.rail_bleeder;
    SwitchLoad load;
    load.current = current;
    load.gate_drive = has_enable_pin(parts) ? parts.supply_voltage : gate_drive(parts);
    const double cold = on_resistance(part, parts);
    load.junction = parts.temperature;
    for (int i = 0; i < settling_steps; ++i) {
        const double warmer = std::min(load.junction, hottest) - 25.0;
        load.on_resistance = cold * std::max(1.0 + rise_per_kelvin * warmer, 0.5);
        load.dissipation = current * std::min(current * load.on_resistance, parts.supply_voltage);
        load.rise = load.dissipation * part.thermal_resistance;
        load.junction = parts.temperature + load.rise;
    }
    if (load.junction > hottest) {
        load.rise = load.junction = infinite;
    }
    load.drop = std::min(current * load.on_resistance, parts.supply_voltage);
    load.path_drop =
        current * (parts.source_resistance + parts.wire_resistance + parts.contact_resistance);
    const bool regulates = has_enable_pin(parts) && parts.regulator_output > 0.0;
    load.board_voltage = regulates
                             ? parts.regulator_output
                             : std::max(parts.supply_voltage - load.drop - load.path_drop, 0.0);
    if (!part.on.empty() && !has_enable_pin(parts)) {
        load.needed_drive = part.on.front().gate_drive;
        load.below_published_drive = load.gate_drive < load.needed_drive;
    }
    load.highest_drive = load.gate_drive;
    load.over_gate_limit = part.gate_limit > 0.0 && load.gate_drive > part.gate_limit;
    load.over_current_limit = part.current_limit > 0.0 && current > part.current_limit;
    load.over_junction_limit = load.junction > part.junction_limit;
    load.below_board_minimum = load.board_voltage < circuit.demands.board_minimum;
    return load;
}

SwitchLoad worst_switch_load(const Circuit& circuit) {
    Position position = everything_typical();
    for (const char* key : {"source_resistance",
                            "load_current",
                            "main_threshold",
                            "wire_resistance",
                            "contact_resistance",
                            "temperature"}) {
        position[*parameter_named(key)] = 1.0;
    }
    position[*parameter_named("rail_bleeder")] = 0.0;
    // What drives the gate hardest, and what drives it least.
    constexpr std::array drives{std::pair{"supply_voltage", 1.0},
                                std::pair{"gate_pull", 1.0},
                                std::pair{"gate_zener", 1.0},
                                std::pair{"gate_series", 0.0}};
    for (const auto& [key, hardest] : drives) {
        position[*parameter_named(key)] = hardest;
    }
    const SwitchLoad hard = switch_load(circuit, values_at(circuit, position));
    for (const auto& [key, hardest] : drives) {
        position[*parameter_named(key)] = 1.0 - hardest;
    }
    Values values = values_at(circuit, position);
    // The published threshold is at 25 °C, and a cold transistor has the higher one.
    values.parts.main_threshold =
        circuit.parts.main_threshold.most +
        circuit.behaviour.threshold * (circuit.parts.temperature.least - 25.0);
    SwitchLoad load = switch_load(circuit, values);
    load.highest_drive = hard.highest_drive;
    load.over_gate_limit = hard.over_gate_limit;
    return load;
}

double allowed_path_resistance(double supply, double board_minimum, double load) {
    return (supply - board_minimum) / load;
}

}  // namespace nightlatch::circuit
