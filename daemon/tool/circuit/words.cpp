// SPDX-License-Identifier: MIT
#include "daemon/tool/circuit/words.hpp"

#include "base/text.hpp"
#include "circuit/parameters.hpp"

#include <algorithm>
#include <cmath>

namespace nightlatch::tool {
namespace {

using circuit::Unit;

constexpr double a_while = 0.2;  ///< V on a rail that is as good as empty

/// What cannot be read off at a glance is not worth four digits.
double rounded(double value) {
    if (value == 0.0 || !std::isfinite(value)) {
        return value;
    }
    const double scale = std::pow(10.0, 2.0 - std::floor(std::log10(std::abs(value))));
    return std::round(value * scale) / scale;
}

std::string amperes(double value) {
    return value_text(value, Unit::ampere);
}

std::string seconds_of(double value) {
    return value_text(value, Unit::second);
}

std::string volts(double value) {
    return value_text(value, Unit::volt);
}

bool has_enable_pin(const CircuitReport& report) {
    return report.circuit.parts.enable_threshold.most > 0.0;
}

}  // namespace

std::string value_text(double value, circuit::Unit unit) {
    if (std::isinf(value)) {
        return unit == Unit::second ? "never" : "none";
    }
    return circuit::to_text(rounded(value), unit);
}

std::string margin_text(double margin) {
    if (std::isinf(margin)) {
        return margin > 0.0 ? "for ever" : "none";
    }
    return circuit::to_text(rounded(margin), Unit::second);
}

/// How far the rail is below the level that would switch it on again, when the release ends.
std::string rail_margin_text(const circuit::Transient& transient) {
    return std::isfinite(transient.rail_margin) && transient.rail_margin > 0.0
               ? value_text(transient.rail_margin, Unit::volt)
               : "none";
}

std::string outcome_word(const circuit::Transient& transient) {
    return std::string(text_of(transient.outcome));
}

std::string pulse_word(unsigned pulse) {
    return pulse == 0 ? "none" : pulse == 1 ? "first" : "second";
}

std::string_view weight_word(circuit::Finding::Weight weight) {
    switch (weight) {
    case circuit::Finding::Weight::failure:
        return "failure";
    case circuit::Finding::Weight::warning:
        return "warning";
    case circuit::Finding::Weight::note:
        return "note";
    }
    return "";
}

std::string next_action(const CircuitReport& report) {
    const std::vector<circuit::Finding> found = counted_findings(report);
    if (!found.empty() && found.front().weight != circuit::Finding::Weight::note) {
        return found.front().remedy + ".";
    }
    return "build it, and compare with what the kernel does: sudo nightlatch audit";
}

std::string percentile_sentence(const CircuitReport& report) {
    return "Asked for: " + circuit::number_text(*report.percentile, 6) +
           " % of the circuits. That is " + (percentile_is_met(report) ? "" : "not ") +
           "met: " + circuit::number_text(report.assessment.stays_off_percent, 6) + " % stay off.";
}

std::string drawn_sentence(const circuit::Assessment& assessment) {
    const circuit::MonteCarlo& drawn = assessment.drawn;
    return "Of " + counted(drawn.circuits, "circuit") + " drawn from the tolerances " +
           counted(drawn.stay_off) + " stay off. Margin: half have more than " +
           margin_text(drawn.half) + ", all but one in 100 more than " +
           margin_text(drawn.hundredth) + ", all but one in 1,000 more than " +
           margin_text(drawn.thousandth) + ".";
}

std::string assumed_sentence(const CircuitReport& report) {
    std::string names;
    const auto add = [&names](std::string_view words) {
        names += (names.empty() ? "" : "; ") + std::string(words);
    };
    for (const circuit::Assumption& one : report.assumptions) {
        add(one.words);
    }
    for (const std::string& one : report.hold_up_assumptions) {
        add(std::string_view(one).substr(0, one.find(" is not stated")));
    }
    return "Assumed, since not stated (--all says what): " + names + ".";
}

std::string pin_sentence(const CircuitReport& report) {
    const circuit::PinLoad& pin = report.assessment.pin;
    const circuit::Parts<circuit::Spread>& parts = report.circuit.parts;
    const std::string limit = ", limit " + amperes(parts.pin_limit.least);
    const bool driven =
        parts.line_pull.least == circuit::infinite && parts.inverter_threshold.most == 0.0;
    const std::string peak =
        driven ? amperes(pin.ideal_peak) + " from a stiff pin" + limit + "; " + amperes(pin.peak) +
                     " with the driver's own resistance, " + amperes(pin.average) + " on average"
               : "sinks " + amperes(pin.ideal_peak) + " from the line's pull-up" + limit;
    return peak + "; the capacitor takes " + seconds_of(pin.charge_time) +
           " to charge, the pulse lasts " + seconds_of(report.circuit.pulses.active) + "; " +
           value_text(pin.energy, Unit::joule) + " a pulse";
}

std::string switch_sentence(const CircuitReport& report) {
    const circuit::SwitchLoad& main = report.assessment.main;
    if (report.circuit.main_switch.on.empty()) {
        return "its RDS(on) is not stated (main_switch, or main_on_resistance)";
    }
    const bool enable = has_enable_pin(report);
    std::string text = value_text(main.on_resistance, Unit::ohm) + " at " + volts(main.gate_drive) +
                       (enable ? " of input: " : " of gate drive: ") + volts(main.drop) + ", " +
                       value_text(main.dissipation, Unit::watt);
    if (main.junction == circuit::infinite) {
        text += ": it burns";
    } else if (main.rise > 0.0) {
        text += ", " + circuit::number_text(rounded(main.rise), 3) +
                " K warmer: " + value_text(main.junction, Unit::celsius);
    }
    return text;
}

std::string board_sentence(const CircuitReport& report) {
    const circuit::SwitchLoad& main = report.assessment.main;
    const double least = report.circuit.demands.board_minimum;
    return volts(main.board_voltage) + " at full load" +
           (least > 0.0 ? ", needed " + volts(least) : std::string{}) + "; " +
           volts(main.path_drop) + " lost in source, wires and contacts";
}

std::string off_sentence(const CircuitReport& report) {
    const circuit::StandingCurrents& currents = report.assessment.currents;
    std::string text = amperes(currents.off_total);
    if (currents.battery_days > 0.0) {
        text += "; the battery lasts " +
                counted(static_cast<std::uint64_t>(rounded(currents.battery_days)), "day") +
                ", its self-discharge included";
    }
    return text;
}

std::string on_sentence(const CircuitReport& report) {
    const circuit::StandingCurrents& currents = report.assessment.currents;
    return "the circuit takes " + amperes(currents.on_total) + " (gate pull " +
           amperes(currents.on_gate_pull) + ", latch " + amperes(currents.on_latch_pull) +
           ", bleeder " + amperes(currents.on_bleeder) + ")";
}

std::string press_sentence(const CircuitReport& report) {
    const circuit::SwitchOn& on = report.assessment.on;
    const std::string inrush =
        has_enable_pin(report)
            ? "inrush: see the data sheet of the switch"
            : "inrush " + amperes(on.inrush) + " at most, over after " + seconds_of(on.inrush_time);
    return "a press of " + seconds_of(on.shortest_press) + " latches; " + inrush +
           "; ready again " + seconds_of(on.ready_again) + " after the release";
}

std::string return_sentence(const CircuitReport& report) {
    const circuit::SwitchOn& on = report.assessment.on;
    if (has_enable_pin(report)) {
        return "it stays off, if the enable pin has no pull-up of its own";
    }
    const std::string rail = on.coupled_rail > a_while
                                 ? ", and the rail reaches " + volts(on.coupled_rail)
                                 : std::string{};
    const std::string time = on.coupled_time > 0.0
                                 ? ", above the threshold for " + seconds_of(on.coupled_time)
                                 : std::string{};
    return (on.starts_by_itself ? "it starts by itself: " : "it stays off: ") +
           std::string("the rising supply drives the gate with ") + volts(on.coupled_drive) + time +
           rail;
}

std::string boot_sentence(const CircuitReport& report) {
    const circuit::SwitchOn& on = report.assessment.on;
    const circuit::Parts<circuit::Spread>& parts = report.circuit.parts;
    const bool open_drain =
        parts.line_pull.least < circuit::infinite && parts.inverter_threshold.most == 0.0;
    if (parts.boot_pull.least == circuit::infinite && !open_drain) {
        return "no pull towards active is stated (boot_pull, boot_time)";
    }
    return "the line's pull charges the hold capacitor to " + volts(on.boot_hold) +
           (on.boot_releases ? ": it releases" : ": too little to release");
}

}  // namespace nightlatch::tool
