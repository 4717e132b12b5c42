// SPDX-License-Identifier: MIT
#include "circuit/corners.hpp"

#include "circuit/draw.hpp"

#include <algorithm>
#include <cmath>

namespace nightlatch::circuit {
namespace {

constexpr std::size_t most_enumerated = 10;  // 1,024 corners
constexpr int interior_points = 12;
constexpr int rounds = 3;

/// Searches one circuit for its smallest margin.
class Search {
public:
    explicit Search(const Circuit& circuit) : circuit_(circuit) {
        for (std::size_t i = 0; i < parameter_count; ++i) {
            const BadEnd bad = parameters()[i].bad;
            if (bad == BadEnd::neither || (circuit.parts.*parameters()[i].spread).is_exact()) {
                continue;
            }
            spread_.push_back(i);
            if (bad == BadEnd::depends) {
                dependent_.push_back(i);
            }
        }
    }

    WorstCase run() {
        Position start = everything_typical();
        for (const std::size_t i : spread_) {
            start[i] = place_of(parameters()[i].bad);
        }
        consider(start);
        const std::size_t enumerated = std::min(dependent_.size(), most_enumerated);
        for (std::size_t corner = 0; corner < (std::size_t{1} << enumerated); ++corner) {
            for (std::size_t i = 0; i < enumerated; ++i) {
                start[dependent_[i]] = (corner >> i & 1) != 0 ? 1.0 : 0.0;
            }
            consider(start);
        }
        for (int round = 0; round < rounds && improve(); ++round) {
        }
        WorstCase worst;
        worst.position = best_;
        worst.values = values_at(circuit_, best_);
        worst.transient = simulate(worst.values);
        return worst;
    }

private:
    double consider(const Position& position) {
        const double margin = simulate(values_at(circuit_, position)).margin;
        if (!any_ || margin < margin_) {
            any_ = true;
            margin_ = margin;
            best_ = position;
        }
        return margin;
    }

    /// Each part by itself along its spread, the others staying; true when that found a worse case.
    bool improve() {
        const double before = margin_;
        for (const std::size_t i : spread_) {
            Position position = best_;
            for (int step = 0; step <= interior_points; ++step) {
                position[i] = static_cast<double>(step) / interior_points;
                consider(position);
            }
            refine(i);
        }
        return margin_ < before;
    }

    /// Halves the steps about the best place so far.
    void refine(std::size_t i) {
        double step = 0.5 / interior_points;
        for (int halving = 0; halving < 6; ++halving, step /= 2.0) {
            const double here = best_[i];
            for (const double place : {here - step, here + step}) {
                Position position = best_;
                position[i] = std::clamp(place, 0.0, 1.0);
                consider(position);
            }
        }
    }

    const Circuit& circuit_;
    std::vector<std::size_t> spread_;
    std::vector<std::size_t> dependent_;
    bool any_ = false;
    double margin_ = 0.0;
    Position best_{};
};

/// The value that so many of a hundred circuits do not reach.
double quantile(std::vector<double>& values, double part) {
    const auto at = static_cast<std::ptrdiff_t>(part * static_cast<double>(values.size()));
    std::nth_element(values.begin(), values.begin() + at, values.end());
    return values[static_cast<std::size_t>(at)];
}

std::string margin_text(double margin) {
    if (margin == -infinite) {
        return "it does not switch off for good";
    }
    return margin == infinite ? "it stays off for ever"
                              : "the margin is " + to_text(margin, Unit::second);
}

}  // namespace

WorstCase worst_case(const Circuit& circuit) {
    return Search(circuit).run();
}

MonteCarlo monte_carlo(const Circuit& circuit, unsigned circuits, std::uint64_t seed) {
    MonteCarlo result;
    result.circuits = std::max(circuits, 1U);
    std::vector<double> margins;
    margins.reserve(result.circuits);
    Draw draw(seed);
    std::vector<std::size_t> spread;
    for (std::size_t i = 0; i < parameter_count; ++i) {
        if (!(circuit.parts.*parameters()[i].spread).is_exact()) {
            spread.push_back(i);
        }
    }
    Position position = everything_typical();
    for (unsigned i = 0; i < result.circuits; ++i) {
        for (const std::size_t part : spread) {
            position[part] = draw.triangular();
        }
        const Transient transient = simulate(values_at(circuit, position));
        result.stay_off += transient.outcome == Outcome::stays_off ? 1U : 0U;
        margins.push_back(transient.margin);
    }
    result.thousandth = quantile(margins, 0.001);
    result.hundredth = quantile(margins, 0.01);
    result.tenth = quantile(margins, 0.1);
    result.half = quantile(margins, 0.5);
    result.nine_tenths = quantile(margins, 0.9);
    return result;
}

std::vector<Sensitivity> sensitivities(const Circuit& circuit) {
    std::vector<Sensitivity> found;
    found.reserve(parameter_count);
    for (std::size_t i = 0; i < parameter_count; ++i) {
        const Parameter& parameter = parameters()[i];
        const Spread& spread = circuit.parts.*parameter.spread;
        if (spread.is_exact() || parameters()[i].bad == BadEnd::neither) {
            continue;
        }
        Sensitivity one;
        one.parameter = i;
        Position position = everything_typical();
        position[i] = 0.0;
        one.at_least = simulate(values_at(circuit, position)).margin;
        position[i] = 1.0;
        one.at_most = simulate(values_at(circuit, position)).margin;
        if (one.at_least == one.at_most) {
            continue;
        }
        one.sentence = std::string(parameter.words) + ": at " +
                       to_text(spread.least, parameter.unit) + " " + margin_text(one.at_least) +
                       ", at " + to_text(spread.most, parameter.unit) + " " +
                       margin_text(one.at_most);
        found.push_back(std::move(one));
    }
    std::stable_sort(found.begin(), found.end(), [](const Sensitivity& a, const Sensitivity& b) {
        return std::abs(a.at_most - a.at_least) > std::abs(b.at_most - b.at_least);
    });
    return found;
}

std::vector<ThresholdCell> threshold_table(const Circuit& circuit) {
    std::vector<ThresholdCell> table;
    if (circuit.parts.enable_threshold.most > 0.0) {
        return table;
    }
    table.reserve(9);
    Circuit fixed = circuit;
    for (const double release : {0.0, 0.5, 1.0}) {
        for (const double latch : {0.0, 0.5, 1.0}) {
            ThresholdCell cell;
            cell.release_threshold = circuit.parts.release_threshold.at(release);
            cell.latch_threshold = circuit.parts.latch_threshold.at(latch);
            fixed.parts.release_threshold = Spread::exactly(cell.release_threshold);
            fixed.parts.latch_threshold = Spread::exactly(cell.latch_threshold);
            const WorstCase worst = worst_case(fixed);
            cell.margin = worst.transient.margin;
            cell.outcome = worst.transient.outcome;
            table.push_back(cell);
        }
    }
    return table;
}

}  // namespace nightlatch::circuit
