// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/parameters.hpp"

namespace nightlatch::circuit {

/// The tide-gauge logger on its pontoon: a battery, a regulator that stops at 3.2 V, a small board.
/// Exact values; a test changes what it is about.
inline Values logger_values() {
    Values values;
    Parts<double>& parts = values.parts;
    parts.supply_voltage = 5.0;
    parts.source_resistance = 0.1;
    parts.load_current = 0.9;
    parts.halt_current = 0.25;
    parts.rail_capacitance = 680e-6;
    parts.cut_out = 3.4;
    parts.rail_leakage = 2e-3;
    parts.rail_bleeder = 4.7e3;
    parts.line_high = 3.3;
    parts.line_resistance = 50.0;
    parts.line_current = 0.05;
    parts.pin_limit = 0.016;
    parts.boot_pull = infinite;
    parts.series_resistor = 330.0;
    parts.diode_factor = 1.0;
    parts.diode_leakage = 2e-6;
    parts.hold_capacitor = 33e-6;
    parts.hold_leakage = 1e-6;
    parts.bleed_resistor = 150e3;
    parts.release_threshold = 1.1;
    parts.release_resistance = 3.5;
    parts.feed_resistor = 22e3;
    parts.latch_pull = infinite;
    parts.latch_threshold = 1.3;
    parts.gate_pull = 47e3;
    parts.gate_capacitance = 1e-9;
    parts.main_threshold = 0.9;
    parts.temperature = 25.0;
    parts.back_feed_voltage = 0.0;
    parts.boot_time = 0.0;
    values.diode.points[0] = {1e-4, 0.24};
    values.diode.points[1] = {1e-3, 0.32};
    values.diode.points[2] = {1e-2, 0.40};
    values.diode.count = 3;
    values.supply_path = 0.15;
    return values;
}

}  // namespace nightlatch::circuit
