// SPDX-License-Identifier: MIT
#include "support/logger_circuit.hpp"

namespace nightlatch::circuit {
namespace {

void set_supply(Parts<Spread>& parts) {
    parts.supply_voltage = {4.9, 5.1, 5.25};
    parts.source_resistance = {0.03, 0.05, 0.1};
    parts.load_current = {0.3, 0.6, 0.9};
    parts.halt_current = {0.15, 0.25, 0.4};
    parts.rail_capacitance = {400e-6, 500e-6, 700e-6};
    parts.cut_out = {3.0, 3.2, 3.4};
    parts.rail_leakage = {0.5e-3, 2e-3, 5e-3};
    parts.rail_bleeder = Spread::within(150.0, 0.05);
    parts.back_feed_voltage = Spread::exactly(0.0);
    parts.back_feed_current = Spread::exactly(0.0);
    parts.wire_resistance = Spread::exactly(0.02);
    parts.contact_resistance = Spread::exactly(0.02);
    parts.temperature = {-10.0, 20.0, 50.0};
}

void set_release(Parts<Spread>& parts) {
    parts.line_high = {3.14, 3.3, 3.46};
    parts.line_resistance = {30.0, 50.0, 80.0};
    parts.line_current = {0.03, 0.06, 0.1};
    parts.pin_limit = Spread::exactly(0.016);
    parts.boot_pull = parts.line_pull = Spread::exactly(infinite);
    parts.series_resistor = Spread::within(270.0, 0.05);
    parts.diode_factor = {0.6, 0.8, 1.0};
    parts.diode_leakage = {0.1e-6, 0.5e-6, 2e-6};
    parts.hold_capacitor = Spread::within(47e-6, 0.2);
    parts.hold_leakage = {0.05e-6, 0.2e-6, 0.5e-6};
    parts.bleed_resistor = Spread::within(150e3, 0.05);
    parts.release_threshold = {0.8, 1.3, 1.5};
    parts.release_resistance = Spread::exactly(6.0);
}

void set_latch(Parts<Spread>& parts) {
    parts.feed_resistor = Spread::within(22e3, 0.05);
    parts.latch_pull = parts.gate_zener = parts.output_discharge = Spread::exactly(infinite);
    parts.latch_threshold = {0.8, 1.3, 1.5};
    parts.gate_pull = Spread::within(47e3, 0.05);
    parts.gate_capacitance = {0.5e-9, 1e-9, 1.5e-9};
    parts.drain_capacitance = {50e-12, 80e-12, 120e-12};
    parts.main_threshold = {0.5, 0.9, 1.3};
    parts.button_resistor = Spread::exactly(1e3);
}

}  // namespace

Circuit logger_circuit() {
    Circuit circuit;
    set_supply(circuit.parts);
    set_release(circuit.parts);
    set_latch(circuit.parts);
    circuit.diode.points = {DropPoint{1e-4, 0.24}, DropPoint{1e-3, 0.32}, DropPoint{1e-2, 0.40}};
    circuit.diode.count = 3;
    circuit.latch_conduction = circuit.release_conduction = {1e-3, {4.5, 6.0}};
    circuit.main_switch.on = {{2.5, 0.085}, {4.5, 0.06}, {10.0, 0.05}};
    circuit.main_switch.gate_limit = 12.0;
    circuit.main_switch.current_limit = 4.0;
    circuit.main_switch.thermal_resistance = 125.0;
    circuit.demands.board_minimum = 4.63;
    return circuit;
}

}  // namespace nightlatch::circuit
