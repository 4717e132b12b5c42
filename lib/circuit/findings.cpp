// SPDX-License-Identifier: MIT
#include "circuit/findings.hpp"

#include "circuit/advice.hpp"
#include "circuit/limits.hpp"
#include "circuit/parameters.hpp"

#include <algorithm>

namespace nightlatch::circuit {
namespace {

using Weight = Finding::Weight;

/// A small SOT-23 resistor-transistor pair takes no more (common practice, no source).
constexpr double small_current = 0.1;

std::string volts(double value) {
    return to_text(value, Unit::volt);
}

std::string amperes(double value) {
    return to_text(value, Unit::ampere);
}

std::string seconds(double value) {
    return to_text(value, Unit::second, 3);
}

class Findings {
public:
    Findings(const Circuit& circuit, const Assessment& assessment)
        : circuit_(circuit), parts_(circuit.parts), assessment_(assessment) {}

    std::vector<Finding> run() {
        judge_completeness();
        judge_release();
        judge_thresholds();
        judge_feed();
        judge_pin();
        judge_pulse();
        judge_rail();
        judge_switching_on();
        judge_button();
        judge_zener();
        judge_main_switch();
        judge_limits();
        judge_board();
        std::stable_sort(found_.begin(), found_.end(), [](const Finding& a, const Finding& b) {
            return a.weight < b.weight;
        });
        return std::move(found_);
    }

private:
    void add(Weight weight, const char* id, std::string sentence, std::string remedy) {
        found_.push_back({weight, id, std::move(sentence), std::move(remedy)});
    }

    /// What cannot work whatever the other values are comes before what follows from it.
    void judge_completeness() {
        if (parts_.hold_capacitor.most == 0.0) {
            add(Weight::failure,
                "no-hold-capacitor",
                "There is no hold capacitor: the release transistor opens as soon as the line "
                "dies with the rail, and the supply comes straight back.",
                "a hold capacitor at the release transistor's gate");
        }
        if (circuit_.diode.count == 0) {
            add(Weight::failure,
                "no-diode",
                "There is no blocking diode: the dead line empties the hold capacitor, and the "
                "supply comes straight back.",
                "a Schottky diode from the line to the hold capacitor");
        }
    }

    void judge_release() {
        const Transient& worst = assessment_.worst.transient;
        if (worst.outcome == Outcome::never_on) {
            add(Weight::failure,
                "never-on",
                "At the worst corner the latch cannot hold the supply on: the rail is at " +
                    volts(worst.rail_on) + " and the latch needs " + volts(worst.latch_level) +
                    ", or the supply does not turn the main switch on.",
                "a latch transistor or a main switch with a lower threshold");
        } else if (worst.outcome == Outcome::never_releases && parts_.feed_resistor.most > 0.0) {
            add(Weight::failure,
                "never-releases",
                "At the worst corner the hold capacitor reaches " + volts(worst.hold_voltage) +
                    ", and the release transistor needs " +
                    volts(assessment_.worst.values.parts.release_threshold) + ".",
                "a release transistor whose threshold is " +
                    volts(assessment_.worst.values.parts.release_threshold - worst.hold_voltage) +
                    " lower, or so much more on the capacitor: less drop in the diode, a larger "
                    "bleed resistor, a longer active-delay-ms");
        } else if (worst.outcome == Outcome::comes_back) {
            add(Weight::failure, "comes-back", comes_back_sentence(worst), what_is_short(worst));
        } else if (worst.margin < circuit_.demands.margin) {
            add(Weight::failure,
                "small-margin",
                "At the worst corner the margin is " + seconds(worst.margin) + ", and " +
                    seconds(circuit_.demands.margin) + " are asked for.",
                what_is_short(worst));
        }
    }

    static std::string comes_back_sentence(const Transient& worst) {
        if (worst.rail_fall == infinite) {
            return "At the worst corner the rail is held at " + volts(worst.rail_settles) +
                   " and never falls below the " + volts(worst.latch_level) +
                   " at which the latch switches on again.";
        }
        return "At the worst corner the supply comes back: the release transistor opens " +
               seconds(worst.hold_off) + " after the switch has opened, and the rail needs " +
               seconds(worst.rail_fall) + " to fall below " + volts(worst.latch_level) + ".";
    }

    /// What would have to change: which quantity is short by how much.
    [[nodiscard]] std::string what_is_short(const Transient& worst) const {
        if (circuit_.diode.count == 0) {
            return "first of all a blocking diode: without it no other part helps";
        }
        if (worst.rail_fall == infinite) {
            return "stop what feeds the rail, or bleed it: it must settle below " +
                   volts(worst.latch_level) + ", " + volts(worst.rail_settles - worst.latch_level) +
                   " lower; no other part helps against that";
        }
        const double wanted =
            circuit_.demands.margin > 0.0 ? circuit_.demands.margin : default_margin;
        return "hold the release transistor on " + seconds(wanted - worst.margin) +
               " longer, or let the rail fall so much sooner, for a margin of " + seconds(wanted);
    }

    void judge_thresholds() {
        std::string failing;
        int count = 0;
        for (const ThresholdCell& cell : assessment_.thresholds) {
            if (cell.outcome != Outcome::stays_off) {
                ++count;
                failing += (failing.empty() ? "" : ", ") + volts(cell.release_threshold) +
                           " with " + volts(cell.latch_threshold);
            }
        }
        if (count > 0 && count < 9) {
            add(Weight::warning,
                "threshold-pairs",
                "These thresholds of release and latch transistor do not go together: " + failing +
                    ".",
                "a release transistor with a low and a latch transistor with a high threshold");
        }
    }

    void judge_feed() {
        const double current = assessment_.currents.released_feed;
        if (current > small_current) {
            add(Weight::failure,
                "rail-shorted",
                "Without a feed resistor to speak of, the release transistor shorts the rail: " +
                    amperes(current) + " flow through it, and the latch does not open.",
                "a feed resistor from the rail to the latch transistor's gate, 10 kohm to 100 "
                "kohm");
        }
    }

    void judge_pin() {
        const PinLoad& pin = assessment_.pin;
        if (!pin.within_limit && parts_.line_pull.most < infinite) {
            add(Weight::failure,
                "pin-overload",
                "The post-halt pin sinks " + amperes(pin.ideal_peak) +
                    " from the line's pull-up, and the limit is " +
                    amperes(parts_.pin_limit.least) + ".",
                "a larger line_pull");
        } else if (!pin.within_limit) {
            add(Weight::failure,
                "pin-overload",
                "The post-halt pin is overloaded: the empty hold capacitor draws " +
                    amperes(pin.ideal_peak) +
                    (parts_.series_resistor.least > 0.0
                         ? " through " + to_text(parts_.series_resistor.least, Unit::ohm)
                         : std::string(", with nothing in series")) +
                    ", and the limit is " + amperes(parts_.pin_limit.least) + ".",
                "a larger series resistor");
        }
    }

    void judge_pulse() {
        const PinLoad& pin = assessment_.pin;
        if (!pin.charged_in_time) {
            add(Weight::warning,
                "slow-charge",
                "The hold capacitor takes " + seconds(pin.charge_time) +
                    " to charge, and the first active level ends after " +
                    seconds(circuit_.pulses.active) + ".",
                "a smaller capacitor or series resistor, or a longer active-delay-ms");
        }
        if (assessment_.worst.transient.pulse == 2) {
            add(Weight::note,
                "second-pulse",
                "At the worst corner only the second active level opens the supply, after " +
                    seconds(assessment_.worst.transient.opened_at) + ".",
                "");
        }
    }

    void judge_rail() {
        const double settles = assessment_.worst.transient.rail_settles;
        if (settles > 0.2) {
            add(Weight::warning,
                "back-feed",
                "The rail is fed from outside and stays at " + volts(settles) +
                    " with the supply off.",
                "cut the feeding path (hub, display cable, serial adapter), or a rail bleeder");
        }
    }

    [[nodiscard]] const char* boot_remedy() const {
        return parts_.inverter_threshold.most > 0.0
                   ? "a smaller line_pull, or another line whose default pull is up"
               : parts_.line_pull.most < infinite
                   ? "a push-pull line, an active-low line, or a smaller bleed resistor"
                   : "another line whose default pull is down, or a smaller bleed resistor";
    }

    void judge_button() {
        if (assessment_.on.shortest_press == infinite) {
            add(Weight::failure,
                "button-weak",
                "The button cannot switch the supply on: the gate or the rail does not get far "
                "enough while it is pressed.",
                parts_.button_gain.most > 0.0 ? "a smaller button_base, or a larger gate_pull"
                                              : "a smaller button_resistor or gate_series");
        }
    }

    void judge_zener() {
        const Spread& zener = parts_.gate_zener;
        if (zener.least > 0.0 && zener.least < parts_.supply_voltage.most &&
            parts_.gate_series.least == 0.0) {
            add(Weight::failure,
                "zener-current",
                "Nothing limits the current through the Zener diode at the gate: the latch "
                "transistor connects it across the supply.",
                "gate_series between the gate and the latch transistor, 1 kohm to 100 kohm");
        }
    }

    void judge_switching_on() {
        const SwitchOn& on = assessment_.on;
        if (on.boot_releases) {
            add(Weight::failure,
                "boot-pull",
                "The line's pull charges the hold capacitor to " + volts(on.boot_hold) +
                    " before the driver's probe, which releases the latch: the board dies when the "
                    "button is let go.",
                boot_remedy());
        }
        if (on.starts_by_itself) {
            add(Weight::warning,
                "self-start",
                "When the supply returns, the gate's coupling holds the main switch on for " +
                    seconds(on.coupled_time) + " and the rail reaches " + volts(on.coupled_rail) +
                    ": the board starts by itself.",
                "a smaller gate pull, or capacitance from the gate to the supply and not to "
                "ground");
        }
        if (on.ready_again > patience) {
            add(Weight::failure,
                "slow-again",
                on.ready_again == infinite || parts_.bleed_resistor.most == infinite
                    ? "The hold capacitor has no bleed resistor: it is empty only when leakage has "
                      "emptied it, and until then the next switch-on fails or is random."
                    : "It cannot be switched on again for " + seconds(on.ready_again) + ".",
                "a bleed resistor across the hold capacitor, or a smaller one");
        }
        const double limit = circuit_.main_switch.current_limit;
        if (limit > 0.0 && on.inrush > 10.0 * limit) {
            add(Weight::warning,
                "inrush",
                "The board's empty capacitance draws up to " + amperes(on.inrush) + " for " +
                    seconds(on.inrush_time) + " at switching on; the main switch carries " +
                    amperes(limit) + ".",
                "capacitance from the main switch's gate to the rail and a larger button resistor: "
                "it then closes slowly (and must still not start by itself)");
        }
    }

    void judge_main_switch() {
        const SwitchLoad& main = assessment_.main;
        if (main.below_published_drive) {
            add(Weight::warning,
                "weak-gate-drive",
                "The main switch's RDS(on) is published for " + volts(main.needed_drive) +
                    " of gate drive, and it gets " + volts(main.gate_drive) +
                    ": what it then has nobody promises.",
                "a main switch that is specified at " + volts(main.gate_drive) + " or less");
        }
        if (main.over_gate_limit) {
            add(Weight::failure,
                "gate-limit",
                "The main switch's gate gets up to " + volts(main.highest_drive) +
                    ", and its limit is " + volts(circuit_.main_switch.gate_limit) + ".",
                "a divider (gate_series) or a Zener diode (gate_zener) at the gate, or another "
                "part");
        }
        if (main.over_current_limit) {
            add(Weight::failure,
                "switch-current",
                "The board and the bleeder draw " + amperes(main.current) +
                    ", which is more than the main switch carries, " +
                    amperes(circuit_.main_switch.current_limit) + ".",
                "a larger main switch");
        }
        if (main.over_junction_limit) {
            add(Weight::failure,
                "switch-heat",
                (main.junction == infinite
                     ? std::string("The main switch burns: ")
                     : "The main switch gets " + to_text(main.junction, Unit::celsius) + " hot: ") +
                    to_text(main.dissipation, Unit::watt, 3) + " in it.",
                "a main switch with a lower RDS(on) at this gate drive, or cooling");
        }
    }

    void judge_limits() {
        for (Finding& one : limit_findings(circuit_)) {
            found_.push_back(std::move(one));
        }
    }

    void judge_board() {
        const SwitchLoad& main = assessment_.main;
        if (main.below_board_minimum) {
            const double least = circuit_.demands.board_minimum;
            const double ohms =
                allowed_path_resistance(parts_.supply_voltage.least, least, main.current);
            add(Weight::failure,
                "board-voltage",
                "At full load " +
                    (main.board_voltage > 0.0 ? volts(main.board_voltage) + " are"
                                              : std::string("nothing is")) +
                    " left at the board, and it needs " + volts(least) + ".",
                ohms > 0.0 ? "switch, source, wires and contacts together may have " +
                                 to_text(ohms, Unit::ohm)
                           : "a supply with a higher voltage");
        }
    }

    const Circuit& circuit_;
    const Parts<Spread>& parts_;
    const Assessment& assessment_;
    std::vector<Finding> found_;
};

}  // namespace

std::vector<Finding> findings_of(const Circuit& circuit, const Assessment& assessment) {
    return Findings(circuit, assessment).run();
}

}  // namespace nightlatch::circuit
