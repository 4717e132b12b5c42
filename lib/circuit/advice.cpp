// SPDX-License-Identifier: MIT
#include "circuit/advice.hpp"

#include "circuit/assessment.hpp"

#include <algorithm>
#include <array>
#include <optional>
#include <string_view>
#include <tuple>

namespace nightlatch::circuit {
namespace {

using enum Lever::Way;
using Way = Lever::Way;

constexpr std::size_t most_together = 4;

// clang-format off
constexpr std::array<Lever, 9> margin_levers{{
    {"series_resistor", down}, {"hold_capacitor", up, 1e-6}, {"bleed_resistor", up},
    {"rail_bleeder", down, 4.7e3}, {"diode", part}, {"release_transistor", part},
    {"latch_transistor", part}, {"active_delay", up, 0.2}, {"inactive_delay", up, 0.2}}};
// clang-format on

constexpr std::array<std::string_view, 4> of_the_margin{
    "comes-back", "small-margin", "never-releases", "threshold-pairs"};

struct Cure {
    std::string_view id;
    Lever lever;
};

// clang-format off
constexpr std::array<Cure, 36> cures{{
    {"no-hold-capacitor", {"hold_capacitor", up, 1e-6}}, {"no-diode", {"diode", part}},
    {"never-on", {"latch_transistor", part}}, {"never-on", {"main_switch", part}},
    {"never-on", {"latch_pull", up}}, {"never-on", {"rail_bleeder", up}},
    {"rail-shorted", {"feed_resistor", up, 10e3}},
    {"pin-overload", {"series_resistor", up, 10.0}}, {"slow-charge", {"active_delay", up, 0.2}},
    {"slow-charge", {"series_resistor", down}}, {"slow-charge", {"hold_capacitor", down}},
    {"back-feed", {"rail_bleeder", down, 4.7e3}}, {"boot-pull", {"bleed_resistor", down, 1e6}},
    {"self-start", {"gate_pull", down}}, {"self-start", {"gate_capacitance", up, 1e-9}},
    {"slow-again", {"bleed_resistor", down, 10e6}}, {"inrush", {"button_resistor", up, 1e3}},
    {"inrush", {"drain_capacitance", up, 1e-9}}, {"inrush", {"main_switch", part}},
    {"weak-gate-drive", {"main_switch", part}}, {"gate-limit", {"main_switch", part}},
    {"drain-limit", {"main_switch", part}}, {"switch-current", {"main_switch", part}},
    {"switch-current", {"rail_bleeder", up}}, {"switch-heat", {"main_switch", part}},
    {"switch-heat", {"rail_bleeder", up}}, {"board-voltage", {"main_switch", part}},
    {"board-voltage", {"rail_bleeder", up}}, {"latch-gate-limit", {"latch_pull", down, 1e6}},
    {"latch-gate-limit", {"latch_transistor", part}},
    {"latch-drain-limit", {"latch_transistor", part}}, {"latch-current", {"gate_pull", up}},
    {"release-gate-limit", {"release_transistor", part}},
    {"release-drain-limit", {"latch_pull", down, 1e6}},
    {"release-drain-limit", {"release_transistor", part}},
    {"release-current", {"feed_resistor", up}}}};

// clang-format on

/// A circuit, and what is found about it.
struct Subject {
    const Circuit& circuit;
    const Assessment& judged;
};

bool is_about_margin(std::string_view id) {
    return std::find(of_the_margin.begin(), of_the_margin.end(), id) != of_the_margin.end();
}

bool has(const Assessment& judged, std::string_view id) {
    return std::any_of(judged.findings.begin(), judged.findings.end(), [&](const Finding& one) {
        return one.id == id && one.weight != Finding::Weight::note;
    });
}

/// What `after` has that `before` has not.
std::vector<std::string> added(const Assessment& before, const Assessment& after) {
    std::vector<std::string> ids;
    for (const Finding& one : after.findings) {
        if (one.weight != Finding::Weight::note && !has(before, one.id)) {
            ids.push_back(one.id);
        }
    }
    return ids;
}

std::string listed(const std::vector<std::string>& words, const char* between) {
    std::string text;
    for (const std::string& one : words) {
        text += (text.empty() ? "" : between) + one;
    }
    return text;
}

/// The word of a finding's remedy that its change is not for nothing.
std::string with_adds(const std::string& words, const std::vector<std::string>& adds) {
    return adds.empty() ? words : words + "; but this adds " + listed(adds, ", ");
}

std::string delay(const char* key, double seconds) {
    return std::string(key) + " = <" + number_text(1e3 * seconds) + "> in the kernel's node";
}

/// What gets worse with a change.
std::string cost_of(const Subject& then, const Subject& now) {
    const Assessment& before = then.judged;
    const Assessment& after = now.judged;
    const auto text = [](double value, Unit unit) { return to_text(value, unit, 3); };
    std::vector<std::string> costs;
    const auto worse = [](double late, double early) { return late > 1.01 * early; };
    if (worse(after.on.ready_again, before.on.ready_again)) {
        costs.push_back(after.on.ready_again == infinite
                            ? "it can hardly be switched on again"
                            : "ready to be switched on again after " +
                                  text(after.on.ready_again, Unit::second) + " instead of " +
                                  text(before.on.ready_again, Unit::second));
    }
    if (worse(after.currents.on_bleeder, before.currents.on_bleeder)) {
        costs.push_back(text(after.currents.on_bleeder, Unit::ampere) +
                        " through the bleeder while it is on");
    }
    if (worse(after.pin.ideal_peak, before.pin.ideal_peak)) {
        costs.push_back("the pin delivers up to " + text(after.pin.ideal_peak, Unit::ampere));
    }
    if (worse(after.pin.charge_time, before.pin.charge_time)) {
        costs.push_back("the capacitor takes " + text(after.pin.charge_time, Unit::second) +
                        " to charge");
    }
    const PulseTrain& pulses = now.circuit.pulses;
    if (pulses.active != then.circuit.pulses.active) {
        costs.push_back(delay("active-delay-ms", pulses.active));
    }
    if (pulses.inactive != then.circuit.pulses.inactive) {
        costs.push_back(delay("inactive-delay-ms", pulses.inactive));
    }
    return listed(costs, "; ");
}

/// What brings the margin in one circuit; findings and costs are told against another, `base`.
class Adviser {
public:
    Adviser(const Circuit& circuit, double margin, const Subject& base)
        : circuit_(circuit), margin_(margin), base_(base),
          wanted_(circuit.demands.margin > 0.0 ? circuit.demands.margin : default_margin) {}

    [[nodiscard]] bool is_enough() const { return margin_ >= wanted_; }

    [[nodiscard]] std::vector<WhatIf> run() const {
        std::vector<WhatIf> lines;
        for (const Lever& lever : margin_levers) {
            if (auto line = best_of(lever)) {
                lines.push_back(std::move(*line));
            }
        }
        return lines;
    }

private:
    /// More than what nobody would solder a part for: a fiftieth of what is asked for.
    [[nodiscard]] bool is_worth_it(double margin, double before) const {
        return before == -infinite ? margin > -infinite : margin > before + 0.02 * wanted_;
    }

    struct Step {
        double margin = -infinite;
        bool worth = false;
        bool adds = false;   ///< a finding
        bool stuck = false;  ///< a larger one is no use
    };

    [[nodiscard]] Step tried(const Settings& settings, double best) const {
        const auto changed = with(circuit_, settings);
        if (!changed) {
            return {.stuck = true};
        }
        Step step{worst_case(*changed).transient.margin};
        step.worth = is_worth_it(step.margin, best);
        step.adds = step.worth && !added(base_.judged, judged(*changed, false)).empty();
        step.stuck = step.adds || (!step.worth && best > -infinite);
        return step;
    }

    /// Steps until the margin is reached, until a step brings nothing worth it any more, or until
    /// one adds a finding.
    [[nodiscard]] std::optional<WhatIf> best_of(const Lever& lever) const {
        double best = margin_;
        std::optional<Settings> found;
        for (Settings& settings : steps_of(circuit_, lever)) {
            const Step step = tried(settings, best);
            if (step.worth && (!step.adds || !found)) {
                best = step.adds ? best : step.margin;
                found = std::move(settings);
            }
            if (best >= wanted_ || (step.stuck && lever.way != Way::part)) {
                break;
            }
        }
        return found ? line_of(std::move(*found)) : std::nullopt;
    }

    [[nodiscard]] std::optional<WhatIf> line_of(Settings settings) const {
        const auto changed = with(circuit_, settings);
        const Assessment then = judged(*changed);
        WhatIf line{words_of(circuit_, settings), std::move(settings)};
        line.margin = then.worst.transient.margin;
        line.enough = line.margin >= wanted_;
        line.adds = added(base_.judged, then);
        line.cost = cost_of(base_, {*changed, then});
        return line;
    }

    const Circuit& circuit_;
    double margin_;
    const Subject& base_;
    double wanted_;
};

/// The best to go on with: enough, adding nothing, by margin.
const WhatIf* best_line(const std::vector<WhatIf>& lines) {
    const auto worse = [](const WhatIf& a, const WhatIf& b) {
        const auto rank = [](const WhatIf& one) {
            return std::tuple(one.enough && one.adds.empty(), one.adds.empty(), one.enough);
        };
        return rank(a) != rank(b) ? rank(a) < rank(b) : !a.enough && a.margin < b.margin;
    };
    const auto best = std::max_element(lines.begin(), lines.end(), worse);
    return best == lines.end() ? nullptr : &*best;
}

/// One change on top of the other, each time what helps most, until it is enough.
std::optional<WhatIf> several(const Subject& base, std::vector<WhatIf> lines) {
    Circuit circuit = base.circuit;
    WhatIf all;
    for (std::size_t i = 0; i < most_together; ++i) {
        const WhatIf* best = best_line(lines);
        const auto next = best == nullptr ? std::nullopt : with(circuit, best->settings);
        if (!next) {
            return std::nullopt;
        }
        all.change += (all.change.empty() ? "" : ", ") + best->change;
        all.cost = best->cost;
        all.margin = best->margin;
        all.enough = best->enough;
        all.adds = best->adds;
        all.settings.insert(all.settings.end(), best->settings.begin(), best->settings.end());
        if (all.enough) {
            return all;
        }
        circuit = *next;
        lines = Adviser(circuit, all.margin, base).run();
    }
    return std::nullopt;
}

struct Remedy {
    Settings settings;
    std::vector<std::string> adds;
};

/// The first step with which the finding is gone; of parts the first that adds none.
std::optional<Remedy> cure_by(const Lever& lever, const Subject& base, std::string_view id) {
    std::optional<Remedy> first;
    const bool by_transient = id == "never-on" || id == "back-feed";
    for (Settings& step : steps_of(base.circuit, lever)) {
        const auto changed = with(base.circuit, step);
        if (!changed || has(judged(*changed, by_transient), id)) {
            continue;
        }
        Remedy remedy{std::move(step), added(base.judged, judged(*changed))};
        if (remedy.adds.empty() || lever.way != Way::part) {
            return remedy;
        }
        first = first ? first : std::move(remedy);
    }
    return first;
}

/// The first cure of the finding that adds none, else the first.
std::optional<Remedy> cure(const Subject& base, std::string_view id) {
    std::optional<Remedy> first;
    for (const Cure& one : cures) {
        auto remedy = one.id == id ? cure_by(one.lever, base, id) : std::nullopt;
        if (remedy && remedy->adds.empty()) {
            return remedy;
        }
        first = first ? first : std::move(remedy);
    }
    return first;
}

}  // namespace

std::vector<WhatIf> advice(const Circuit& circuit, const Assessment& judged) {
    const Subject base{circuit, judged};
    const Adviser adviser(circuit, judged.worst.transient.margin, base);
    if (circuit.stated.empty() || adviser.is_enough()) {
        return {};
    }
    std::vector<WhatIf> lines = adviser.run();
    const WhatIf* best = best_line(lines);
    if (best != nullptr && !(best->enough && best->adds.empty())) {
        if (auto line = several(base, lines); line && line->settings.size() > 1) {
            lines.push_back(std::move(*line));
        }
    }
    return lines;
}

void add_remedies(const Circuit& circuit, Assessment& judged) {
    const WhatIf* enough = best_line(judged.what_ifs);
    for (Finding& finding : judged.findings) {
        if (!finding.settings.empty() || finding.weight == Finding::Weight::note) {
            continue;
        }
        if (is_about_margin(finding.id) && enough != nullptr && enough->enough) {
            finding.remedy = with_adds(enough->change, enough->adds);
            finding.settings = enough->settings;
        } else if (auto remedy = cure({circuit, judged}, finding.id)) {
            finding.remedy = with_adds(words_of(circuit, remedy->settings), remedy->adds);
            finding.settings = std::move(remedy->settings);
        }
    }
}

}  // namespace nightlatch::circuit
