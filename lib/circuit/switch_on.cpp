// SPDX-License-Identifier: MIT
#include "circuit/switch_on.hpp"

#include "circuit/hold_node.hpp"
#include "circuit/line_source.hpp"
#include "circuit/parameters.hpp"
#include "circuit/stage.hpp"
#include "circuit/stages.hpp"
#include "circuit/transient.hpp"
#include "circuit/transistor_law.hpp"

#include <algorithm>
#include <cmath>
#include <initializer_list>
#include <numbers>
#include <string_view>
#include <utility>

namespace nightlatch::circuit {
namespace {

constexpr double nearly = std::numbers::ln10 * 2.0;  // time constants to within a hundredth

double gate_capacitance(const Parts<double>& parts) {
    return parts.gate_capacitance + parts.drain_capacitance;
}

/// Rail from `from` to `to` volts with the main switch closed, through the cut-out's load.
double rail_rises(const Values& values, const Stages& stages, double to) {
    const Parts<double>& parts = values.parts;
    const double path = std::max(values.supply_path, 1e-3);
    const Stage idle{
        parts.rail_capacitance, stages.rail_feed / path, 1.0 / path + 1.0 / parts.rail_bleeder};
    const double knee = std::min(to, parts.cut_out);
    double time = idle.rises_to(0.0, knee);
    if (to > knee) {
        Stage loaded = idle;
        loaded.current -= parts.load_current;
        time += loaded.rises_to(knee, to);
    }
    return time;
}

/// A that a transistor which the button drives can take from the gate; infinite without one.
double button_current(const Parts<double>& parts) {
    constexpr double base_emitter = 0.7;
    return parts.button_gain > 0.0
               ? parts.button_gain * std::max(parts.supply_voltage - base_emitter, 0.0) /
                     std::max(parts.button_base, 1e-3)
               : infinite;
}

/// The button pulls the gate down through its resistor, against the gate's pull-up.
double gate_falls(const Parts<double>& parts) {
    if (has_enable_pin(parts)) {
        return 0.0;
    }
    const double button = std::max(parts.button_resistor + parts.gate_series, 1e-3);
    Stage gate{std::max(gate_capacitance(parts), 1e-13),
               parts.supply_voltage / button,
               1.0 / button + 1.0 / parts.gate_pull};
    if (button_current(parts) < gate.current) {
        gate.current = button_current(parts);
        gate.conductance = 1.0 / parts.gate_pull;
    }
    return gate.rises_to(0.0, parts.main_threshold);
}

/// The path's resistance limits it, or how fast the gate-drain capacitance lets the rail rise:
/// while the main switch closes, what the button takes from the gate flows through that
/// capacitance, so that dV/dt = I / C (common practice, no source).
void rush_in(SwitchOn& result, const Parts<double>& parts, double path) {
    result.inrush_charge = parts.rail_capacitance * parts.supply_voltage;
    const double by_path = parts.supply_voltage / path;
    if (has_enable_pin(parts)) {  // it starts softly by itself, and how is in its data sheet
        return;
    }
    const double button = std::max(parts.button_resistor + parts.gate_series, 1e-3);
    const double from_gate = std::min(
        std::max(parts.supply_voltage - parts.main_threshold, 0.0) / button, button_current(parts));
    const double by_gate =
        parts.rail_capacitance * from_gate / std::max(parts.drain_capacitance, 1e-15);
    result.inrush = std::min(by_path, by_gate);
    result.inrush_time =
        by_gate < by_path ? result.inrush_charge / by_gate : nearly * path * parts.rail_capacitance;
}

/// While the supply rises evenly in `rise` seconds, what is between gate and ground (the latch's
/// and the rail's side) must be charged through the gate pull: a drive of R C dV/dt at most.
void couple(SwitchOn& result, const Values& values, double rise) {
    const Parts<double>& parts = values.parts;
    if (has_enable_pin(parts)) {
        return;
    }
    const double total = std::max(gate_capacitance(parts), 1e-13);
    const double time = parts.gate_pull * total;
    const double divided = parts.supply_voltage * parts.drain_capacitance / total;
    const double ramp = std::max(rise, 1e-9);
    result.coupled_drive = divided * time / ramp * -std::expm1(-ramp / time);
    if (result.coupled_drive <= parts.main_threshold) {
        return;
    }
    result.coupled_time =
        std::min(ramp, time) + time * std::log(result.coupled_drive / parts.main_threshold);
    const double path = std::max(values.supply_path, 1e-3);
    const Stage rail{parts.rail_capacitance, parts.supply_voltage / path, 1.0 / path};
    // With so little drive the main switch limits the current: at most what it carries at its peak.
    const double carries =
        TransistorLaw::mosfet(parts.main_threshold, values.main, parts.temperature)
            .current(result.coupled_drive);
    result.coupled_rail = std::min(rail.after(0.0, result.coupled_time),
                                   carries * result.coupled_time / parts.rail_capacitance);
    result.starts_by_itself = result.coupled_rail > stages_of(values).latch_level;
}

/// The hold capacitor's voltage after the boot time, charged through the line's pull.
double charged_by_pull(const Values& values) {
    const Parts<double>& parts = values.parts;
    const double resistance = stages_of(values).boot_resistance;
    if (resistance == infinite || parts.boot_time <= 0.0) {
        return 0.0;
    }
    const LineSource source(values, resistance, infinite);
    double hold = 0.0;
    double left = parts.boot_time;
    for (std::size_t piece = source.piece_at(parts.line_high);; --piece) {
        const LineSource::Piece& line = source.piece(piece);
        const Stage stage{std::max(parts.hold_capacitor, input_capacitance),
                          line.slope * parts.line_high - line.offset - parts.hold_leakage,
                          line.slope + 1.0 / parts.bleed_resistor};
        const double step =
            piece == 0 ? infinite : stage.rises_to(hold, parts.line_high - line.from);
        if (step >= left || piece == 0) {
            return std::max(stage.after(hold, left), 0.0);
        }
        hold = parts.line_high - line.from;
        left -= step;
    }
}

Position corner(std::initializer_list<std::pair<std::string_view, double>> places) {
    Position position = everything_typical();
    for (const auto& [key, place] : places) {
        if (const auto index = parameter_named(key)) {
            position[*index] = place;
        }
    }
    return position;
}

/// s from the level at which the release stage is taken to let go to that at which it really may.
double lingers(const Parts<double>& parts, const Stages& stages) {
    const double conductance = 1.0 / parts.bleed_resistor + stages.base_conductance;
    return conductance > 0.0 && stages.release_begins > 0.0 ? discharge_time(stages.release_level,
                                                                             stages.release_begins,
                                                                             1.0 / conductance,
                                                                             parts.hold_capacitor)
                                                            : 0.0;
}

}  // namespace

SwitchOn switch_on(const Circuit& circuit, const Values& values) {
    const Parts<double>& parts = values.parts;
    const double path = std::max(values.supply_path, 1e-3);
    const Stages stages = stages_of(values);
    SwitchOn result;
    result.shortest_press = gate_falls(parts) + rail_rises(values, stages, stages.staying_level);
    rush_in(result, parts, path);
    const Transient off = simulate(values);
    result.ready_again = off.opened_at - off.released_at + off.hold_off + lingers(parts, stages);
    couple(result, values, circuit.demands.supply_rise);
    result.boot_hold = charged_by_pull(values);
    result.boot_releases = result.boot_hold > stages.release_begins;
    return result;
}

SwitchOn worst_switch_on(const Circuit& circuit) {
    const auto at = [&](const Position& position) {
        return switch_on(circuit, values_at(circuit, position));
    };
    SwitchOn worst = at(corner({{"supply_voltage", 0.0},
                                {"rail_capacitance", 1.0},
                                {"source_resistance", 1.0},
                                {"gate_capacitance", 1.0},
                                {"main_threshold", 1.0},
                                {"latch_threshold", 1.0},
                                {"load_current", 1.0},
                                {"temperature", 0.0}}));
    const SwitchOn stiff = at(corner({{"supply_voltage", 1.0},
                                      {"rail_capacitance", 1.0},
                                      {"drain_capacitance", 0.0},
                                      {"button_resistor", 0.0},
                                      {"main_threshold", 0.0},
                                      {"source_resistance", 0.0},
                                      {"wire_resistance", 0.0},
                                      {"contact_resistance", 0.0}}));
    worst.inrush = stiff.inrush;
    worst.inrush_charge = stiff.inrush_charge;
    for (const double temperature : {0.0, 0.5, 1.0}) {
        const SwitchOn slow = at(corner({{"hold_capacitor", 1.0},
                                         {"bleed_resistor", 1.0},
                                         {"hold_leakage", 0.0},
                                         {"diode_leakage", 0.0},
                                         {"diode_factor", 0.0},
                                         {"line_high", 1.0},
                                         {"release_threshold", 0.0},
                                         {"boot_pull", 0.0},
                                         {"boot_time", 1.0},
                                         {"temperature", temperature}}));
        const SwitchOn coupled = at(corner({{"supply_voltage", 1.0},
                                            {"gate_capacitance", 0.0},
                                            {"drain_capacitance", 1.0},
                                            {"gate_pull", 1.0},
                                            {"main_threshold", 0.0},
                                            {"latch_threshold", 0.0},
                                            {"rail_capacitance", 0.0},
                                            {"temperature", temperature}}));
        worst.ready_again = std::max(worst.ready_again, slow.ready_again);
        worst.boot_hold = std::max(worst.boot_hold, slow.boot_hold);
        worst.boot_releases = worst.boot_releases || slow.boot_releases;
        if (coupled.coupled_rail >= worst.coupled_rail) {
            worst.coupled_drive = std::max(worst.coupled_drive, coupled.coupled_drive);
            worst.coupled_time = coupled.coupled_time;
            worst.coupled_rail = coupled.coupled_rail;
        }
        worst.starts_by_itself = worst.starts_by_itself || coupled.starts_by_itself;
    }
    return worst;
}

}  // namespace nightlatch::circuit
