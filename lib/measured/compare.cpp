// SPDX-License-Identifier: MIT
#include "measured/compare.hpp"

#include "circuit/stages.hpp"
#include "circuit/transient.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace nightlatch::measured {

using namespace circuit;

namespace {

/// An oscilloscope's vertical scale: 3 % (common practice for eight bits, no source).
constexpr double gain_error = 0.03;
/// What the arithmetic is good for: curves that are no pure exponentials, times between samples.
constexpr double fit_error = 0.02;

using Keys = std::vector<std::string_view>;

constexpr std::array hold_keys{std::string_view{"hold_capacitor"},
                               std::string_view{"bleed_resistor"},
                               std::string_view{"hold_leakage"},
                               std::string_view{"diode_leakage"},
                               std::string_view{"release_base"}};
constexpr std::array rail_keys{std::string_view{"halt_current"},
                               std::string_view{"rail_capacitance"},
                               std::string_view{"rail_bleeder"},
                               std::string_view{"output_discharge"},
                               std::string_view{"back_feed_current"}};
constexpr std::array latch_keys{std::string_view{"latch_threshold"},
                                std::string_view{"enable_threshold"},
                                std::string_view{"feed_resistor"},
                                std::string_view{"latch_pull"},
                                std::string_view{"main_threshold"},
                                std::string_view{"gate_pull"}};
constexpr std::array release_keys{std::string_view{"release_threshold"},
                                  std::string_view{"release_base"},
                                  std::string_view{"release_gain"}};

std::string volts(double value) {
    return to_text(value, Unit::volt, 3);
}

std::string seconds(double value) {
    return to_text(value, Unit::second, 3);
}

class Comparing {
public:
    Comparing(const Circuit& circuit, const Waves& waves, double probe)
        : circuit_(circuit), waves_(waves), probe_(probe) {
        const Parts<Spread>& parts = circuit.parts;
        const double rail_on = stages_of(values_at(circuit, everything_typical())).rail_on;
        found_.shape =
            shape_of(waves, {parts.line_high.typical, parts.cut_out.most, rail_on, !active_low()});
    }

    Comparison run() {
        add_decay();
        add_fall();
        add_death();
        if (found_.shape.rail && found_.shape.rail->turns) {
            add_turn();
            add_letting_go();
        }
        judge();
        find_witness();
        return std::move(found_);
    }

private:
    [[nodiscard]] bool active_low() const { return circuit_.parts.inverter_threshold.most > 0.0; }

    /// Those of the keys that the circuit has, as people call them.
    [[nodiscard]] std::vector<std::string> words_of(std::span<const std::string_view> keys) const {
        std::vector<std::string> words;
        for (const std::string_view key : keys) {
            const Parameter& parameter = parameters()[*parameter_named(key)];
            const Spread& spread = circuit_.parts.*parameter.spread;
            if (spread.most > 0.0 && spread.least < infinite) {
                words.emplace_back(parameter.words);
            }
        }
        return words;
    }

    Quantity& add(Quantity quantity, std::span<const std::string_view> keys) {
        quantity.parts = words_of(keys);
        return found_.quantities.emplace_back(std::move(quantity));
    }

    static void set(Quantity& quantity, double value, double error) {
        quantity.value = value;
        quantity.least = value - error;
        quantity.most = value + error;
    }

    /// The range by these keys and others that share in it without being named.
    [[nodiscard]] Spread range(std::span<const std::string_view> named,
                               Keys others,
                               const Compute& compute) const {
        others.insert(others.begin(), named.begin(), named.end());
        return range_over(circuit_, others, compute);
    }

    void add_decay() {
        Quantity& one =
            add({"hold-rc", "R C of the hold capacitor's discharge", Unit::second}, hold_keys);
        if (!found_.shape.decay) {
            one.why_not = found_.shape.no_decay;
            return;
        }
        const Decay& decay = *found_.shape.decay;
        one.value = decay.tau;
        one.least = std::min(decay.tau_least, decay.tau) * (1.0 - fit_error);
        one.most = std::max(decay.tau_most, decay.tau) * (1.0 + fit_error);
        one.computed = range(hold_keys, {"temperature", "release_threshold"}, [&](const Values& v) {
            return decay_time(v, decay, probe_);
        });
    }

    void add_fall() {
        Quantity& one = add({"rail-rate", "I/C of the rail's fall", Unit::volt, true}, rail_keys);
        const auto& rail = found_.shape.rail;
        if (!rail || !rail->slope) {
            one.why_not = !rail ? "the rail was not captured"
                          : rail->falls
                              ? "too little of the fall above the cut-out is in the capture"
                              : "the rail does not fall in the capture";
            return;
        }
        const RailShape::Slope slope = *rail->slope;
        set(one, slope.per_second, slope.per_second * (gain_error + fit_error));
        one.computed = range(rail_keys,
                             {"back_feed_voltage", "feed_resistor"},
                             [&](const Values& v) { return fall_rate(v, slope.from, slope.to); });
    }

    void add_death() {
        static constexpr std::array stated{std::string_view{"line_dies"}};
        static constexpr std::array taken{std::string_view{"line_high"},
                                          std::string_view{"cut_out"}};
        const bool is_stated = circuit_.parts.line_dies.most > 0.0;
        const auto keys = is_stated ? std::span<const std::string_view>(stated)
                                    : std::span<const std::string_view>(taken);
        Quantity& one = add({"line-dies", "rail at which the line died", Unit::volt}, keys);
        const Shape& shape = found_.shape;
        if (active_low()) {
            one.why_not = "a line that is active low is low before it dies, too";
        } else if (!shape.line || !shape.rail) {
            one.why_not = "that takes line and rail";
        } else if (!shape.line->dies || !shape.rail->falls) {
            one.why_not = "the line does not die in the capture";
        } else {
            const double when = *shape.line->dies;
            const double level = waves_.rail.at(when);
            const std::size_t index = waves_.line.index_at(when);
            const double before = waves_.line.time(index > 0 ? index - 1 : 0);
            const double between = std::abs(waves_.rail.at(before) - level);
            set(one, level, gain_error * level + waves_.rail.error() + between);
            one.computed = range(keys, {"supply_voltage"}, [](const Values& v) {
                return dead_level(v, stages_of(v));
            });
        }
    }

    void add_turn() {
        Quantity& one = add({"rail-back", "rail at which it came back", Unit::volt}, latch_keys);
        const double level = found_.shape.rail->turns_at;
        set(one, level, gain_error * level + waves_.rail.error());
        one.computed = range(latch_keys,
                             {"temperature", "rail_leakage", "rail_bleeder"},
                             [](const Values& v) { return stages_of(v).latch_level; });
        // The release stage may let go at any rail above.
        one.computed.most = std::max(one.computed.most, found_.shape.rail->high);
    }

    void add_letting_go() {
        Quantity& one = add({"release-level", "hold capacitor when the rail came back", Unit::volt},
                            release_keys);
        if (!waves_.hold.is_there()) {
            one.why_not = "the hold capacitor was not captured";
            return;
        }
        const double level = waves_.hold.at(*found_.shape.rail->turns);
        set(one, level, gain_error * level + 2.0 * waves_.hold.error());
        const Keys others{"temperature", "latch_threshold", "feed_resistor", "enable_threshold"};
        one.computed =
            range(release_keys, others, [](const Values& v) { return stages_of(v).release_level; });
        const Spread least = range(release_keys, others, lets_go_at_least);
        one.computed.least = std::min(one.computed.least, least.least);
    }

    void judge() {
        if (found_.shape.rail && found_.shape.rail->turns) {
            found_.findings.push_back(
                {Finding::Weight::failure,
                 "wave-came-back",
                 "The rail came back: at " + volts(found_.shape.rail->turns_at) + ", " +
                     seconds(*found_.shape.rail->turns - *found_.shape.rail->falls) +
                     " after it began to fall, it rises again.",
                 "see what nightlatch circuit proposes without --wave; the power stays connected"});
        }
        for (const Quantity& one : found_.quantities) {
            if (!one.is_inside()) {
                found_.findings.push_back(outside(one));
            }
        }
        if (!found_.any_measured()) {
            found_.findings.push_back(
                {Finding::Weight::warning,
                 "wave-nothing",
                 "The capture shows nothing that can be compared.",
                 "capture one whole switching-off: from before the line "
                 "rises until the rail is down, a thousand samples at least"});
        }
    }

    static Finding outside(const Quantity& one) {
        std::string names;
        for (std::size_t i = 0; i < one.parts.size(); ++i) {
            names += i == 0 ? "" : i + 1 == one.parts.size() ? " and " : ", ";
            names += one.parts[i];
        }
        const bool several = one.parts.size() > 1;
        const std::string least = text_of(one.computed.least, one);
        const std::string most = text_of(one.computed.most, one);
        return {
            Finding::Weight::warning,
            "wave-" + one.id,
            "The " + one.words + " is " + text_of(*one.value, one) +
                ", and by the parts as they are stated it is " + least +
                (least == most ? "" : " to " + most) + ".",
            "look at " + names +
                (several ? ", which share it: one wave cannot tell which of them differs" : "")};
    }

    void find_witness() {
        const auto& rail = found_.shape.rail;
        Witness& witness = found_.witness;
        if (!rail || !rail->falls) {
            witness.why_not = "the rail does not fall in the capture";
        } else if (rail->turns) {
            witness.why_not = "the rail came back";
        } else if (rail->end > latch_level() || rail->end > 0.5 * rail->high) {
            witness.why_not = "the rail is still at " + volts(rail->end) +
                              " when the capture ends; capture for longer";
        } else if (const auto held = still_held()) {
            witness.why_not = *held;
        } else {
            const auto& line = found_.shape.line;
            const bool from_line = line && line->rises && *line->rises < rail->down;
            const double time = rail->down - (from_line ? *line->rises : *rail->falls);
            const double level = std::round(std::max(rail->end, 0.0) * 10.0) / 10.0;
            witness.saw = "rail to " + volts(level) + ", " + to_text(time, Unit::second, 2);
        }
    }

    [[nodiscard]] double latch_level() const {
        return range(latch_keys,
                     {"temperature"},
                     [](const Values& v) { return stages_of(v).latch_level; })
            .least;
    }

    /// What has not happened yet may still bring it back.
    [[nodiscard]] std::optional<std::string> still_held() const {
        const double level = range(release_keys, {"temperature"}, lets_go_at_least).least;
        if (waves_.hold.is_there()) {
            const double end = waves_.hold.smooth(waves_.hold.size() - 1);
            if (end > level) {
                return "the hold capacitor still has " + volts(end) +
                       " when the capture ends, and may hold the release; capture for longer";
            }
            return std::nullopt;
        }
        const Transient typical = simulate(values_at(circuit_, everything_typical()));
        const double since = found_.shape.ends - *found_.shape.rail->falls;
        if (std::isfinite(typical.hold_off) && since < typical.hold_off) {
            return "the release is held for " + seconds(typical.hold_off) +
                   " with typical parts, and the capture ends after " + seconds(since) +
                   "; capture for longer";
        }
        return std::nullopt;
    }

    const Circuit& circuit_;
    const Waves& waves_;
    double probe_;
    Comparison found_;
};

}  // namespace

bool Comparison::any_measured() const {
    return std::any_of(quantities.begin(), quantities.end(), [](const Quantity& one) {
        return one.value.has_value();
    });
}

Comparison compare(const Circuit& circuit, const Waves& waves, double probe) {
    return Comparing(circuit, waves, probe).run();
}

std::string text_of(double value, const Quantity& quantity) {
    return to_text(value, quantity.unit, 3) + (quantity.per_second ? "/s" : "");
}

}  // namespace nightlatch::measured
