// SPDX-License-Identifier: MIT
#include "bench/stepping.hpp"

#include "circuit/line_source.hpp"

#include <algorithm>

namespace nightlatch::bench {

using circuit::Parts;

Stepped step_through(const circuit::Values& values, double step) {
    const Parts<double>& parts = values.parts;
    const circuit::LineSource source(values, parts.line_resistance, parts.line_current);
    const double leakage = parts.hold_leakage + parts.diode_leakage;
    const double dead_level = std::max(parts.cut_out, parts.line_high);
    const double gate_time = parts.gate_pull * (parts.gate_capacitance + parts.drain_capacitance);
    const double released_path = parts.feed_resistor + parts.release_resistance;
    double hold = 0.0;
    double rail = parts.supply_voltage - parts.halt_current * values.supply_path;
    double gate = parts.supply_voltage;
    double time = 0.0;
    double opened = circuit::infinite;
    double fell = circuit::infinite;
    bool released = false;
    bool dead = false;
    bool load_off = false;
    for (; time < 60.0; time += step) {
        const bool open = opened < circuit::infinite;
        const double line = dead || time > values.pulses.active ? 0.0 : parts.line_high;
        const double into = source.current(line - hold) - hold / parts.bleed_resistor - leakage;
        const double load =
            load_off ? parts.rail_leakage * rail / parts.cut_out : parts.halt_current;
        double drain = load + rail / parts.rail_bleeder + (released ? rail / released_path : 0.0);
        drain -= open ? 0.0 : (parts.supply_voltage - rail) / values.supply_path;
        hold += step * into / parts.hold_capacitor;
        rail -= step * drain / parts.rail_capacitance;
        gate -= released ? step * gate / gate_time : 0.0;
        if (released && hold < parts.release_threshold) {
            break;
        }
        released = released || hold > parts.release_threshold;
        opened = !open && gate < parts.main_threshold ? time : opened;
        dead = dead || rail < dead_level;
        load_off = load_off || rail < parts.cut_out;
        fell = rail < parts.latch_threshold ? std::min(fell, time) : fell;
    }
    return {time - opened, fell - opened};
}

}  // namespace nightlatch::bench
