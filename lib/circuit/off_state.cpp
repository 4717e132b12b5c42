// SPDX-License-Identifier: MIT
#include "circuit/off_state.hpp"

#include "circuit/stages.hpp"

#include <algorithm>
#include <cmath>

namespace nightlatch::circuit {
namespace {

constexpr double drain_leakage = 1e-6;
constexpr double days_a_month = 30.4;
constexpr double hours_a_day = 24.0;

/// Through gate series and gate pull, and a Zener diode that limits.
double gate_current(const Parts<double>& parts) {
    const double drive = gate_drive(parts);
    return parts.gate_series > 0.0 ? (parts.supply_voltage - drive) / parts.gate_series
                                   : drive / parts.gate_pull;
}

}  // namespace

StandingCurrents standing_currents(const Circuit& circuit, const Values& values) {
    const Parts<double>& parts = values.parts;
    const double hotter = std::exp2((parts.temperature - 25.0) / circuit.behaviour.leakage_doubles);
    const double feed = stages_of(values).rail_feed;
    const double rail = feed - parts.load_current * values.supply_path;
    StandingCurrents currents;
    currents.off_main_leakage = drain_leakage * hotter;
    currents.off_latch_leakage = drain_leakage * hotter;
    currents.off_total = currents.off_main_leakage + currents.off_latch_leakage;
    currents.on_gate_pull = has_enable_pin(parts) ? 0.0 : gate_current(parts);
    currents.on_latch_pull = rail / (parts.feed_resistor + parts.latch_pull);
    currents.on_bleeder = rail / parts.rail_bleeder;
    currents.released_feed = rail / std::max(parts.feed_resistor + parts.release_resistance, 1e-3);
    currents.on_total = currents.on_gate_pull + currents.on_latch_pull + currents.on_bleeder;
    const double capacity = circuit.demands.battery;
    if (capacity > 0.0) {
        const double by_itself = circuit.demands.self_discharge / days_a_month;  // of it, a day
        const double by_circuit = currents.off_total * hours_a_day / capacity;
        currents.battery_days = 1.0 / (by_itself + by_circuit);
    }
    return currents;
}

}  // namespace nightlatch::circuit
