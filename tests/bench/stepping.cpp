// SPDX-License-Identifier: MIT
#include "bench/stepping.hpp"

#include "circuit/line_source.hpp"

#include <algorithm>

namespace nightlatch::bench {

namespace {

using circuit::Parts;

struct Stepping {
    const circuit::Values& values;
    const Parts<double>& parts = values.parts;
    circuit::Stages stages = circuit::stages_of(values);
    circuit::LineSource source{values, stages.line_resistance, stages.line_current};
    double hold = 0.0;
    double rail = parts.supply_voltage - parts.halt_current * values.supply_path;
    double gate = parts.supply_voltage;
    bool released = false;
    bool open = false;
    bool dead = false;
    bool load_off = false;

    [[nodiscard]] double into_hold(double time) const {
        const double line = dead || time > values.pulses.active ? 0.0 : parts.line_high;
        return source.current(line - hold) - hold / parts.bleed_resistor - parts.hold_leakage;
    }

    [[nodiscard]] double out_of_rail() const {
        double drain = load_off ? parts.rail_leakage * rail / parts.cut_out : parts.halt_current;
        drain += rail / parts.rail_bleeder;
        if (released) {
            drain += rail / (parts.feed_resistor + parts.release_resistance);
        }
        return open ? drain : drain - (parts.supply_voltage - rail) / values.supply_path;
    }

    void advance(double time, double step) {
        const double gate_time =
            parts.gate_pull * (parts.gate_capacitance + parts.drain_capacitance);
        hold += step * into_hold(time) / parts.hold_capacitor;
        rail -= step * out_of_rail() / parts.rail_capacitance;
        gate -= released ? step * gate / gate_time : 0.0;
        open = open || gate < parts.main_threshold;
        dead = dead || rail < circuit::dead_level(values, stages);
        load_off = load_off || rail < parts.cut_out;
    }
};

}  // namespace

Stepped step_through(const circuit::Values& values, double step) {
    constexpr double long_enough = 60.0;
    Stepping now{values};
    double opened = circuit::infinite;
    double fell = circuit::infinite;
    double time = 0.0;
    for (; time < long_enough; time += step) {
        now.advance(time, step);
        opened = now.open ? std::min(opened, time) : opened;
        fell = now.rail < now.stages.latch_level ? std::min(fell, time) : fell;
        const bool above = now.hold > now.stages.release_level;
        if (now.released && !above) {
            break;
        }
        now.released = now.released || above;
    }
    return {time - opened, fell - opened};
}

}  // namespace nightlatch::bench
