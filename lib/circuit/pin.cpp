// SPDX-License-Identifier: MIT
#include "circuit/pin.hpp"

#include "circuit/line_source.hpp"
#include "circuit/stages.hpp"

#include <algorithm>

namespace nightlatch::circuit {
namespace {

constexpr double time_constants = 5.0;  // 99.3 % [RC circuit, step response]

/// First published drop: what the diode takes of the level at any current worth counting.
double knee_of(const Diode& diode) {
    return diode.count == 0 ? 0.0 : diode.points[0].drop;
}

}  // namespace

PinLoad pin_load(const Values& values) {
    const Parts<double>& parts = values.parts;
    const double across = std::max(parts.line_high - knee_of(values.diode), 0.0);
    const Stages stages = stages_of(values);
    const bool driven = !is_active_low(parts) && !is_open_drain(parts);
    PinLoad load;
    load.ideal_peak =
        driven ? LineSource(values, 0.0, infinite).current(parts.line_high) : stages.pin_current;
    load.peak = driven ? LineSource(values, stages.line_resistance, stages.line_current)
                             .current(parts.line_high)
                       : stages.pin_current;
    const double resistance = parts.series_resistor + stages.line_resistance;
    load.charge_time = time_constants * resistance * parts.hold_capacitor;
    const double active = values.pulses.active;
    const double charge = parts.hold_capacitor * across + active * across / parts.bleed_resistor;
    load.average = active > 0.0 ? charge / active : 0.0;
    load.energy = charge * parts.line_high;
    load.within_limit = load.ideal_peak <= parts.pin_limit;
    load.charged_in_time = load.charge_time <= active;
    return load;
}

}  // namespace nightlatch::circuit
