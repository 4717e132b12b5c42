// SPDX-License-Identifier: MIT
#include "circuit/advice.hpp"

#include "circuit/corners.hpp"
#include "circuit/e_series.hpp"
#include "circuit/library.hpp"
#include "circuit/off_state.hpp"
#include "circuit/parameters.hpp"
#include "circuit/pin.hpp"
#include "circuit/switch_on.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

namespace nightlatch::circuit {
namespace {

constexpr std::size_t most_lines = 10;
constexpr int most_steps = 14;  // two decades and more of E6, one of E12

/// The same relative spread about another value.
Spread moved_to(const Spread& spread, double value) {
    if (spread.typical <= 0.0 || spread.typical == infinite) {
        return Spread::within(value, resistor_tolerance);
    }
    const double factor = value / spread.typical;
    return {spread.least * factor, value, spread.most * factor};
}

Values worst_pin_values(const Circuit& circuit) {
    Position position = everything_typical();
    position[*parameter_named("line_high")] = 1.0;
    position[*parameter_named("series_resistor")] = 0.0;
    position[*parameter_named("diode_factor")] = 0.0;
    position[*parameter_named("pin_limit")] = 0.0;
    return values_at(circuit, position);
}

std::string instead(double now, double before, Unit unit) {
    if (before == 0.0 || before == infinite) {
        return to_text(now, unit) + " where there is none";
    }
    return to_text(now, unit) + " instead of " + to_text(before, unit);
}

class Adviser {
public:
    explicit Adviser(const Circuit& circuit)
        : circuit_(circuit),
          wanted_(circuit.demands.margin > 0.0 ? circuit.demands.margin : default_margin),
          ready_(worst_switch_on(circuit).ready_again) {}

    std::vector<WhatIf> run() {
        found_.reserve(most_lines);
        advise_series();
        if (worst_case(circuit_).transient.margin < wanted_) {
            advise_smaller_series();
            advise_capacitor();
            advise_bleed();
            advise_bleeder();
            advise_transistor("release transistor", true);
            advise_transistor("latch transistor", false);
        }
        found_.resize(std::min(found_.size(), most_lines));
        return std::move(found_);
    }

private:
    [[nodiscard]] bool pin_is_fine(const Circuit& circuit) const {
        return pin_load(worst_pin_values(circuit)).within_limit;
    }

    [[nodiscard]] WhatIf judged(const Circuit& circuit, std::string change) const {
        WhatIf line;
        line.change = std::move(change);
        line.margin = worst_case(circuit).transient.margin;
        line.enough = line.margin >= wanted_ && pin_is_fine(circuit);
        return line;
    }

    [[nodiscard]] std::string ready_cost(const Circuit& circuit) const {
        const double now = worst_switch_on(circuit).ready_again;
        if (now == infinite) {
            return "it can hardly be switched on again";
        }
        return "ready to be switched on again after " + to_text(now, Unit::second) +
               " instead of " + to_text(ready_, Unit::second) + " at most";
    }

    void advise_series() {
        const Values values = worst_pin_values(circuit_);
        if (pin_load(values).within_limit) {
            return;
        }
        const Spread& before = circuit_.parts.series_resistor;
        const double low = before.typical > 0.0 ? before.least / before.typical : 0.95;
        const double ohms = next_up(least_series_resistance(values) / low, Series::e12);
        Circuit changed = circuit_;
        changed.parts.series_resistor = moved_to(before, ohms);
        WhatIf line =
            judged(changed, "series resistor " + instead(ohms, before.typical, Unit::ohm));
        const PinLoad load = pin_load(values_at(changed, everything_typical()));
        line.cost = "the capacitor takes " + to_text(load.charge_time, Unit::second) +
                    " to charge, and the active level lasts " +
                    to_text(circuit_.pulses.active, Unit::second);
        found_.push_back(std::move(line));
        circuit_ = std::move(changed);  // what follows presumes it
    }

    /// The faster it charges, the more the capacitor has when the rail takes the line away.
    void advise_smaller_series() {
        const Spread& before = circuit_.parts.series_resistor;
        if (before.typical <= 0.0) {
            return;
        }
        const double low = before.least / before.typical;
        const double ohms =
            next_up(least_series_resistance(worst_pin_values(circuit_)) / low, Series::e12);
        Circuit changed = circuit_;
        changed.parts.series_resistor = moved_to(before, ohms);
        if (ohms >= before.typical ||
            worst_case(changed).transient.margin <= worst_case(circuit_).transient.margin) {
            return;
        }
        WhatIf line =
            judged(changed, "series resistor " + instead(ohms, before.typical, Unit::ohm));
        const PinLoad load = pin_load(worst_pin_values(changed));
        line.cost = "the pin delivers up to " + to_text(load.ideal_peak, Unit::ampere) + " of " +
                    to_text(circuit_.parts.pin_limit.least, Unit::ampere);
        found_.push_back(std::move(line));
    }

    /// Steps one part through a series until the margin is reached or nothing is gained any more;
    /// the best that was found.
    template <class Step>
    std::optional<double> stepped(Spread Parts<Spread>::*part, double start, Step step) {
        double best_margin = worst_case(circuit_).transient.margin;
        std::optional<double> best;
        double value = start;
        for (int i = 0; i < most_steps; ++i, value = step(value)) {
            Circuit changed = circuit_;
            changed.parts.*part = moved_to(circuit_.parts.*part, value);
            const double margin = worst_case(changed).transient.margin;
            if (margin > best_margin) {
                best_margin = margin;
                best = value;
            }
            if (margin >= wanted_) {
                break;
            }
        }
        return best;
    }

    void advise_capacitor() {
        const Spread& before = circuit_.parts.hold_capacitor;
        const double start = before.typical > 0.0 ? above(before.typical, Series::e6) : 1e-6;
        const auto value = stepped(&Parts<Spread>::hold_capacitor, start, [](double farads) {
            return above(farads, Series::e6);
        });
        if (!value) {
            return;
        }
        Circuit changed = circuit_;
        changed.parts.hold_capacitor = moved_to(before, *value);
        WhatIf line =
            judged(changed, "hold capacitor " + instead(*value, before.typical, Unit::farad));
        line.cost = ready_cost(changed);
        found_.push_back(std::move(line));
    }

    void advise_bleed() {
        const Spread& before = circuit_.parts.bleed_resistor;
        if (before.typical == infinite) {
            return;
        }
        const auto value = stepped(&Parts<Spread>::bleed_resistor,
                                   above(before.typical, Series::e12),
                                   [](double ohms) { return above(ohms, Series::e12); });
        if (!value) {
            return;
        }
        Circuit changed = circuit_;
        changed.parts.bleed_resistor = moved_to(before, *value);
        WhatIf line =
            judged(changed, "bleed resistor " + instead(*value, before.typical, Unit::ohm));
        line.cost = ready_cost(changed);
        found_.push_back(std::move(line));
    }

    void advise_bleeder() {
        const Spread& before = circuit_.parts.rail_bleeder;
        const double start =
            before.typical == infinite ? 4.7e3 : below(before.typical, Series::e12);
        const auto value = stepped(&Parts<Spread>::rail_bleeder, start, [](double ohms) {
            return below(ohms, Series::e12);
        });
        if (!value) {
            return;
        }
        Circuit changed = circuit_;
        changed.parts.rail_bleeder = moved_to(before, *value);
        WhatIf line = judged(changed, "rail bleeder " + instead(*value, before.typical, Unit::ohm));
        const Values values = values_at(changed, everything_typical());
        const double current = standing_currents(changed, values).on_bleeder;
        line.cost = to_text(current, Unit::ampere) + " more or less, " +
                    number_text(current * current * *value * 1e3, 3) + " mW, while it is on";
        found_.push_back(std::move(line));
    }

    void advise_transistor(const std::string& what, bool release) {
        const auto part =
            release ? &Parts<Spread>::release_threshold : &Parts<Spread>::latch_threshold;
        std::optional<WhatIf> best;
        for (const LibraryTransistor& other : library_transistors()) {
            if (other.p_channel || other.threshold.value == circuit_.parts.*part) {
                continue;
            }
            Circuit changed = circuit_;
            changed.parts.*part = other.threshold.value;
            WhatIf line = judged(changed, what + " " + std::string(other.name));
            if (!best || line.margin > best->margin) {
                line.cost = "thresholds of " + to_text(other.threshold.value, Unit::volt) +
                            (release ? ": the line must still charge the capacitor past them"
                                     : ": the rail must reach them while the button is pressed");
                best = std::move(line);
            }
        }
        if (best && best->margin > worst_case(circuit_).transient.margin) {
            found_.push_back(std::move(*best));
        }
    }

    Circuit circuit_;
    double wanted_;
    double ready_;
    std::vector<WhatIf> found_;
};

}  // namespace

std::vector<WhatIf> advice(const Circuit& circuit) {
    return Adviser(circuit).run();
}

}  // namespace nightlatch::circuit
