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

constexpr int digits = 3;
constexpr std::size_t most_together = 4;
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

/// One part that becomes another.
struct Change {
    Spread Parts<Spread>::*part = nullptr;
    Spread value;
};

Circuit with(const Circuit& circuit, const Change& change) {
    Circuit changed = circuit;
    changed.parts.*change.part = change.value;
    return changed;
}

bool pin_is_fine(const Circuit& circuit) {
    return pin_load(worst_pin_values(circuit)).within_limit;
}

double worst_margin(const Circuit& circuit) {
    return worst_case(circuit).transient.margin;
}

/// A change by itself, and what comes of it.
struct Option {
    WhatIf line;
    Change change;
};

/// What could be changed in one circuit.
class Options {
public:
    Options(const Circuit& circuit, double wanted)
        : circuit_(circuit), wanted_(wanted), margin_(worst_margin(circuit)),
          ready_(worst_switch_on(circuit).ready_again) {}

    [[nodiscard]] bool enough() const { return margin_ >= wanted_; }

    std::vector<Option> run() {
        smaller_series();
        capacitor();
        bleed();
        bleeder();
        transistor("release transistor", &Parts<Spread>::release_threshold);
        transistor("latch transistor", &Parts<Spread>::latch_threshold);
        return std::move(found_);
    }

    /// The smallest series resistor that keeps the pin within its limit.
    [[nodiscard]] Option smallest_series() const {
        const Spread& before = circuit_.parts.series_resistor;
        const double low = before.typical > 0.0 ? before.least / before.typical : 0.95;
        const double ohms = least_series_resistance(worst_pin_values(circuit_)) / low;
        const Change change{&Parts<Spread>::series_resistor,
                            moved_to(before, next_up(ohms, Series::e12))};
        return judged(
            change, "series resistor " + instead(change.value.typical, before.typical, Unit::ohm));
    }

    /// The largest bleed resistor with which it can be switched on again within a third of the
    /// patience: from one that empties even a full capacitor in that time, upwards.
    [[nodiscard]] Option quicker_bleed() const {
        const Parts<Spread>& parts = circuit_.parts;
        const double constants = std::log(parts.line_high.most / parts.release_threshold.least);
        const double full = std::max(constants, 0.1) * parts.hold_capacitor.most;
        Change change = bleed_of(next_down(patience / 3.0 / full, Series::e12));
        for (int i = 0; i < most_steps; ++i) {
            const Change larger = bleed_of(above(change.value.typical, Series::e12));
            if (worst_switch_on(with(circuit_, larger)).ready_again > patience / 3.0) {
                break;
            }
            change = larger;
        }
        Option option =
            judged(change,
                   "bleed resistor " +
                       instead(change.value.typical, parts.bleed_resistor.typical, Unit::ohm));
        option.line.cost = ready_cost(change);
        return option;
    }

    [[nodiscard]] bool is_slow() const { return ready_ > patience; }

private:
    static Change bleed_of(double ohms) {
        return {&Parts<Spread>::bleed_resistor, Spread::within(ohms, resistor_tolerance)};
    }

    [[nodiscard]] Option judged(const Change& change, std::string words) const {
        const Circuit changed = with(circuit_, change);
        Option option{{std::move(words), worst_margin(changed), false, {}}, change};
        option.line.enough = option.line.margin >= wanted_ && pin_is_fine(changed);
        return option;
    }

    void add(Option option, std::string cost) {
        option.line.cost = std::move(cost);
        found_.push_back(std::move(option));
    }

    /// More than what nobody would solder a part for: a fiftieth of what is asked for.
    [[nodiscard]] bool is_worth_it(double margin, double before) const {
        return before == -infinite ? margin > -infinite : margin > before + 0.02 * wanted_;
    }

    [[nodiscard]] std::string ready_cost(const Change& change) const {
        const double now = worst_switch_on(with(circuit_, change)).ready_again;
        if (now == infinite) {
            return "it can hardly be switched on again";
        }
        return "ready to be switched on again after " + to_text(now, Unit::second, digits) +
               (ready_ == infinite
                    ? std::string(" instead of never")
                    : " instead of " + to_text(ready_, Unit::second, digits) + " at most");
    }

    /// The faster it charges, the more the capacitor has when the rail takes the line away.
    void smaller_series() {
        const double before = circuit_.parts.series_resistor.typical;
        if (before <= 0.0) {
            return;
        }
        Option option = smallest_series();
        if (option.change.value.typical >= before || !is_worth_it(option.line.margin, margin_)) {
            return;
        }
        const PinLoad load = pin_load(worst_pin_values(with(circuit_, option.change)));
        add(std::move(option),
            "the pin delivers up to " + to_text(load.ideal_peak, Unit::ampere, digits) + " of " +
                to_text(circuit_.parts.pin_limit.least, Unit::ampere));
    }

    /// Steps a part through a series until the margin is reached or a step brings nothing worth it
    /// any more; the best that was found.
    template <class Step>
    [[nodiscard]] std::optional<Change> stepped(Spread Parts<Spread>::*part,
                                                double start,
                                                Step step) const {
        double best_margin = margin_;
        std::optional<Change> best;
        double value = start;
        for (int i = 0; i < most_steps && best_margin < wanted_; ++i, value = step(value)) {
            const Change change{part, moved_to(circuit_.parts.*part, value)};
            const double margin = worst_margin(with(circuit_, change));
            if (is_worth_it(margin, best_margin)) {
                best_margin = margin;
                best = change;
            } else if (best_margin > -infinite) {
                break;
            }
        }
        return best;
    }

    void capacitor() {
        const double before = circuit_.parts.hold_capacitor.typical;
        larger("hold_capacitor", before > 0.0 ? above(before, Series::e6) : 1e-6, Series::e6);
    }

    void bleed() {
        const double before = circuit_.parts.bleed_resistor.typical;
        if (before < infinite) {
            larger("bleed_resistor", above(before, Series::e12), Series::e12);
        }
    }

    /// Of the two parts that decide how soon it can be switched on again.
    void larger(std::string_view key, double start, Series series) {
        const Parameter& part = parameters()[*parameter_named(key)];
        const auto change =
            stepped(part.spread, start, [series](double value) { return above(value, series); });
        if (change) {
            const std::string name(part.words.substr(std::string_view("the ").size()));
            const double before = (circuit_.parts.*part.spread).typical;
            add(judged(*change, name + " " + instead(change->value.typical, before, part.unit)),
                ready_cost(*change));
        }
    }

    void bleeder() {
        const double before = circuit_.parts.rail_bleeder.typical;
        const double start = before == infinite ? 4.7e3 : below(before, Series::e12);
        const auto change = stepped(&Parts<Spread>::rail_bleeder, start, [](double ohms) {
            return below(ohms, Series::e12);
        });
        if (!change) {
            return;
        }
        const Circuit changed = with(circuit_, *change);
        const double ohms = change->value.typical;
        const double current =
            standing_currents(changed, values_at(changed, everything_typical())).on_bleeder;
        add(judged(*change, "rail bleeder " + instead(ohms, before, Unit::ohm)),
            to_text(current, Unit::ampere, digits) + " through it, " +
                to_text(current * current * ohms, Unit::watt, digits) + ", while it is on");
    }

    void transistor(const std::string& what, Spread Parts<Spread>::*part) {
        std::optional<Option> best;
        for (const LibraryTransistor& other : library_transistors()) {
            if (other.kind != LibraryTransistor::Kind::n_channel ||
                other.threshold.value == circuit_.parts.*part) {
                continue;
            }
            Option option =
                judged({part, other.threshold.value}, what + " " + std::string(other.name));
            if (!best || option.line.margin > best->line.margin) {
                best = std::move(option);
            }
        }
        if (best && is_worth_it(best->line.margin, margin_)) {
            std::string cost = "thresholds of " + to_text(best->change.value, Unit::volt) +
                               (part == &Parts<Spread>::release_threshold
                                    ? ": the line must still charge the capacitor past them"
                                    : ": the rail must reach them while the button is pressed");
            add(std::move(*best), std::move(cost));
        }
    }

    const Circuit& circuit_;
    double wanted_;
    double margin_;
    double ready_;
    std::vector<Option> found_;
};

/// The first that is enough; else what brings most. Parts that were changed are left alone.
const Option* choose(const std::vector<Option>& options, const std::vector<Change>& changed) {
    const Option* best = nullptr;
    for (const Option& option : options) {
        const bool again = std::any_of(changed.begin(), changed.end(), [&](const Change& change) {
            return change.part == option.change.part;
        });
        if (again) {
            continue;
        }
        if (option.line.enough) {
            return &option;
        }
        if (best == nullptr || option.line.margin > best->line.margin) {
            best = &option;
        }
    }
    return best;
}

/// One change on top of the other, each time what helps most, until it is enough.
std::optional<WhatIf> several(Circuit circuit, std::vector<Option> options, double wanted) {
    std::vector<Change> changed;
    WhatIf line;
    while (changed.size() < most_together) {
        const Option* chosen = choose(options, changed);
        if (chosen == nullptr) {
            return std::nullopt;
        }
        line.change += (line.change.empty() ? "" : ", ") + chosen->line.change;
        line.cost += (line.cost.empty() ? "" : "; ") + chosen->line.cost;
        line.margin = chosen->line.margin;
        if (chosen->line.enough) {
            line.enough = true;
            return line;
        }
        circuit = with(circuit, chosen->change);
        changed.push_back(chosen->change);
        options = Options(circuit, wanted).run();
    }
    return std::nullopt;
}

}  // namespace

std::vector<WhatIf> advice(const Circuit& given) {
    const double wanted = given.demands.margin > 0.0 ? given.demands.margin : default_margin;
    Circuit circuit = given;
    std::vector<WhatIf> lines;
    if (!pin_is_fine(circuit)) {
        Option larger = Options(circuit, wanted).smallest_series();
        circuit = with(circuit, larger.change);  // what follows presumes it
        const PinLoad load = pin_load(values_at(circuit, everything_typical()));
        larger.line.cost = "the capacitor takes " +
                           to_text(load.charge_time, Unit::second, digits) +
                           " to charge, and the active level lasts " +
                           to_text(circuit.pulses.active, Unit::second);
        lines.push_back(std::move(larger.line));
    }
    if (const Options slow(circuit, wanted);
        slow.is_slow() && circuit.parts.hold_capacitor.most > 0.0) {
        const Option bleed = slow.quicker_bleed();
        circuit = with(circuit, bleed.change);
        lines.push_back(bleed.line);
    }
    Options possible(circuit, wanted);
    if (possible.enough()) {
        return lines;
    }
    std::vector<Option> options = possible.run();
    bool enough = false;
    for (const Option& option : options) {
        enough = enough || option.line.enough;
        lines.push_back(option.line);
    }
    if (!enough) {
        if (auto line = several(circuit, std::move(options), wanted)) {
            lines.push_back(std::move(*line));
        }
    }
    return lines;
}

}  // namespace nightlatch::circuit
