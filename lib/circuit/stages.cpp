// SPDX-License-Identifier: MIT
#include "circuit/stages.hpp"

#include "circuit/transistor_law.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace nightlatch::circuit {
namespace {

constexpr double least_control = 0.05;  // V
constexpr double least_current = 1e-6;  // A that any rail loses or gains by something

/// Part of the rail's voltage at the latch's input, with `below` ohm from there to ground.
double share_at_latch(const Parts<double>& parts, double below) {
    if (parts.feed_resistor <= 0.0 || below == infinite) {
        return 1.0;
    }
    return below / (below + parts.feed_resistor);
}

bool is_pulled(const Parts<double>& parts) {
    return parts.line_pull > 0.0 && parts.line_pull < infinite;
}

/// Of an active-low line the boot pull is one down, and switches the inverter on by itself.
bool boots_low(const Parts<double>& parts) {
    const double part =
        is_pulled(parts) ? parts.line_pull / (parts.line_pull + parts.boot_pull) : 1.0;
    return parts.boot_pull < infinite && part * parts.line_high > parts.inverter_threshold;
}

void describe_line(Stages& stages, const Parts<double>& parts) {
    stages.pin_current = is_pulled(parts) ? parts.line_high / parts.line_pull : 0.0;
    if (is_active_low(parts)) {
        // RDS(on) is taken as published at 4.5 V; less drive conducts less, and saturates.
        const double drive = std::max(parts.line_high - parts.inverter_threshold, 1e-3);
        const double published = std::max(4.5 - parts.inverter_threshold, 0.3);
        const double ohms = std::max(parts.inverter_resistance, 1e-3);
        stages.line_resistance = ohms * std::max(published / drive, 1.0);
        stages.line_current = drive * drive / (3.0 * ohms * published);  // beta / (2 n) V^2
        stages.boot_resistance = boots_low(parts) ? stages.line_resistance : stages.boot_resistance;
    } else if (is_open_drain(parts)) {
        stages.line_resistance = stages.boot_resistance = parts.line_pull;
    } else {
        stages.line_resistance = parts.line_resistance;
        stages.line_current = parts.line_current;
        stages.boot_resistance = parts.boot_pull;
    }
}

/// What flows out of a rail at so many volts that the supply has left: as little as it may be.
double leaves_rail(const Parts<double>& parts, double rail) {
    double out = rail * (1.0 / parts.rail_bleeder + parts.rail_leakage / parts.cut_out +
                         1.0 / (parts.feed_resistor + parts.latch_pull));
    if (parts.back_feed_current > 0.0) {
        out -= parts.back_feed_current * std::max(1.0 - rail / parts.back_feed_voltage, 0.0);
    }
    return std::max(out, least_current);
}

TransistorLaw latch_law(const Values& values) {
    const Parts<double>& parts = values.parts;
    const auto law = parts.latch_gain > 0.0 ? &TransistorLaw::bipolar : &TransistorLaw::mosfet;
    return law(parts.latch_threshold, values.latch, parts.temperature);
}

/// The safe side of what must be on.
double at_least_published(const TransistorLaw& law, double current) {
    return std::max(law.published(), law.control(current));
}

/// The rail that gives the latch stage this input, and the base current for `current`.
double rail_for(const Parts<double>& parts, double control, double current) {
    const double base = parts.latch_gain > 0.0 ? current / parts.latch_gain : 0.0;
    return control / share_at_latch(parts, parts.latch_pull) + base * parts.feed_resistor;
}

/// Where it regenerates: the main switch carries what leaves the rail, and the latch what gives
/// the main switch that drive. Published thresholds are at larger currents, so this is lower.
double regenerates_at(const Values& values, const TransistorLaw& latch) {
    constexpr int rounds = 2;  // each moves it by the logarithm of a small change only
    const Parts<double>& parts = values.parts;
    const TransistorLaw main =
        TransistorLaw::mosfet(parts.main_threshold, values.main, parts.temperature);
    double level = rail_for(parts, parts.latch_threshold, 0.0);
    for (int round = 0; round < rounds; ++round) {
        const double drive = std::max(main.control(leaves_rail(parts, level)), least_control);
        const double current = std::min(drive, parts.main_threshold) / parts.gate_pull;
        const double control = std::max(latch.control(current), least_control);
        level = std::min(level, rail_for(parts, control, current));
    }
    return level;
}

void describe_latch(Stages& stages, const Values& values) {
    const Parts<double>& parts = values.parts;
    const double under =
        1.0 / (1.0 / parts.latch_pull + 1.0 / std::max(parts.release_resistance, 1e-3));
    if (has_enable_pin(parts)) {
        const double falling = parts.enable_threshold - parts.enable_hysteresis;
        stages.latch_level = stages.staying_level =
            parts.enable_threshold / share_at_latch(parts, parts.latch_pull);
        stages.released_level = falling / share_at_latch(parts, under);
        // One time constant to the level at which it is off: the delay.
        stages.gate_drive = stages.rail_feed;
        stages.gate_opens = stages.rail_feed / std::numbers::e;
        stages.gate_time = parts.enable_delay;
        return;
    }
    stages.gate_drive = gate_drive(parts);
    stages.gate_opens = parts.main_threshold;
    stages.gate_time = parts.gate_pull * (parts.gate_capacitance + parts.drain_capacitance);
    const TransistorLaw latch = latch_law(values);
    const double full = stages.gate_drive / parts.gate_pull;
    const double strong = at_least_published(latch, full);
    stages.latch_level = regenerates_at(values, latch);
    stages.staying_level = std::max(rail_for(parts, strong, full), stages.latch_level);
    const double weak = latch.control(parts.main_threshold / parts.gate_pull);
    stages.released_level =
        std::clamp(weak, least_control, parts.latch_threshold) / share_at_latch(parts, under);
}

/// The rail with the supply on and the halted board drawing.
double rail_at_rest(const Stages& stages, const Values& values) {
    const Parts<double>& parts = values.parts;
    const double path = std::max(values.supply_path, 1e-3);
    return (stages.rail_feed / path - parts.halt_current) /
           (1.0 / path + 1.0 / parts.rail_bleeder + 1.0 / (parts.feed_resistor + parts.latch_pull));
}

/// The stage carries what comes through the feed resistor with the rail up. Its published control
/// voltage is taken even where it carries less: a real one lets go a little later.
void describe_release(Stages& stages, const Values& values) {
    const Parts<double>& parts = values.parts;
    const double input = has_enable_pin(parts) ? parts.enable_threshold - parts.enable_hysteresis
                                               : parts.latch_threshold;
    const double feed = std::max(parts.feed_resistor, 1e-3);
    const double current =
        std::max((stages.rail_on - input) / feed - input / parts.latch_pull, 0.0);
    const bool bipolar = parts.release_gain > 0.0;
    const auto law_of = bipolar ? &TransistorLaw::bipolar : &TransistorLaw::mosfet;
    const TransistorLaw law = law_of(parts.release_threshold, values.release, parts.temperature);
    const double control = std::max(law.control(current), least_control);
    const double base = bipolar ? parts.release_base * current / parts.release_gain : 0.0;
    stages.release_level = std::max(control, law.published()) + base;
    stages.release_begins = std::min(control, law.published()) + base;
    if (bipolar) {
        stages.base_level = parts.release_threshold;
        stages.base_conductance = 1.0 / std::max(parts.release_base, 1e-3);
    }
}

}  // namespace

bool is_active_low(const Parts<double>& parts) noexcept {
    return parts.inverter_threshold > 0.0;
}

bool is_open_drain(const Parts<double>& parts) noexcept {
    return !is_active_low(parts) && is_pulled(parts);
}

bool has_enable_pin(const Parts<double>& parts) noexcept {
    return parts.enable_threshold > 0.0;
}

double gate_drive(const Parts<double>& parts) noexcept {
    const double divided =
        parts.supply_voltage * parts.gate_pull / (parts.gate_pull + parts.gate_series);
    return parts.gate_zener > 0.0 ? std::min(divided, parts.gate_zener) : divided;
}

Stages stages_of(const Values& values) {
    const Parts<double>& parts = values.parts;
    Stages stages;
    const bool regulates = has_enable_pin(parts) && parts.regulator_output > 0.0;
    stages.rail_feed = regulates ? parts.regulator_output : parts.supply_voltage;
    stages.rail_on = rail_at_rest(stages, values);
    describe_line(stages, parts);
    describe_latch(stages, values);
    describe_release(stages, values);
    return stages;
}

}  // namespace nightlatch::circuit
