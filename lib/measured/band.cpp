// SPDX-License-Identifier: MIT
#include "measured/band.hpp"

#include "circuit/draw.hpp"

#include <algorithm>
#include <cmath>

namespace nightlatch::measured {

using namespace circuit;

namespace {

constexpr int drawn = 200;
constexpr int steps = 240;

/// Where the runs are at `time` of their own, straight in between.
std::optional<TracePoint> point_at(const std::vector<TracePoint>& trace, double time) {
    const auto after = std::lower_bound(
        trace.begin(), trace.end(), time, [](const TracePoint& point, double when) {
            return point.time < when;
        });
    if (after == trace.end()) {
        return std::nullopt;
    }
    if (after == trace.begin()) {
        return *after;
    }
    const TracePoint& before = *(after - 1);
    const double part = (time - before.time) / std::max(after->time - before.time, 1e-12);
    const auto between = [&](double TracePoint::*value) {
        return before.*value + part * ((*after).*value - before.*value);
    };
    return TracePoint{time,
                      between(&TracePoint::line),
                      between(&TracePoint::hold),
                      between(&TracePoint::rail),
                      between(&TracePoint::gate)};
}

/// Down to `until` as exponentials, by their last two points.
void go_on(std::vector<TracePoint>& trace, double until) {
    constexpr int more = 60;
    if (trace.size() < 2) {
        return;
    }
    const TracePoint last = trace.back();
    const auto before = std::find_if(trace.rbegin(), trace.rend(), [&](const TracePoint& point) {
        return point.time < last.time - 1e-6;
    });
    if (before == trace.rend() || until <= last.time) {
        return;
    }
    const TracePoint from = *before;  // a copy: the trace grows
    const double span = last.time - from.time;
    const auto later = [&](double TracePoint::*value, double time) {
        const double part = last.*value > 0.0 ? last.*value / std::max(from.*value, 1e-12) : 0.0;
        return last.*value * std::pow(std::min(part, 1.0), (time - last.time) / span);
    };
    trace.reserve(trace.size() + more);
    for (int i = 1; i <= more; ++i) {
        const double time = last.time + (until - last.time) * i / more;
        trace.push_back({time,
                         last.line,
                         later(&TracePoint::hold, time),
                         later(&TracePoint::rail, time),
                         from.gate});
    }
}

/// Before the pulse nothing is charged and the rail is up.
TracePoint at_rest(const std::vector<TracePoint>& trace) {
    TracePoint rest = trace.front();
    rest.line = 0.0;
    rest.hold = 0.0;
    return rest;
}

std::optional<double> moment_of(const Transient& transient,
                                const std::vector<TracePoint>& trace,
                                Anchor anchor) {
    if (anchor == Anchor::opens) {
        return std::isfinite(transient.opened_at) ? std::optional(transient.opened_at)
                                                  : std::nullopt;
    }
    const auto dead = std::find_if(
        trace.rbegin(), trace.rend(), [](const TracePoint& point) { return point.line > 0.0; });
    return dead == trace.rend() || dead == trace.rbegin() ? std::nullopt
                                                          : std::optional(dead->time);
}

class Band {
public:
    Band(double begin, double end) {
        points_.reserve(steps + 1);
        for (int i = 0; i <= steps; ++i) {
            points_.push_back({begin + (end - begin) * i / steps, {}, {}});
        }
        there_.resize(points_.size(), false);
    }

    void take(const Values& values, Anchor anchor) {
        const std::vector<TracePoint> trace = run_of(values, anchor, points_.back().at);
        for (std::size_t i = 0; !trace.empty() && i < points_.size(); ++i) {
            const double time = points_[i].at;
            if (const auto point = time < trace.front().time ? std::optional(at_rest(trace))
                                                             : point_at(trace, time)) {
                widen(i, *point);
            }
        }
    }

    std::vector<BandPoint> points() && {
        std::vector<BandPoint> known;
        for (std::size_t i = 0; i < points_.size(); ++i) {
            if (there_[i]) {
                known.push_back(points_[i]);
            }
        }
        return known;
    }

private:
    void widen(std::size_t i, const TracePoint& point) {
        BandPoint& band = points_[i];
        if (!there_[i]) {
            band.low = band.high = point;
            there_[i] = true;
        }
        for (double TracePoint::*const value :
             {&TracePoint::line, &TracePoint::hold, &TracePoint::rail}) {
            band.low.*value = std::min(band.low.*value, point.*value);
            band.high.*value = std::max(band.high.*value, point.*value);
        }
    }

    std::vector<BandPoint> points_;
    std::vector<bool> there_;
};

}  // namespace

Anchored anchor_of(const Shape& shape) {
    if (shape.rail && shape.rail->falls) {
        return {Anchor::opens, *shape.rail->falls};
    }
    if (shape.line && shape.line->dies) {
        return {Anchor::line_dies, *shape.line->dies};
    }
    if (shape.decay) {
        return {Anchor::line_dies, shape.decay->begins};
    }
    return {};
}

std::vector<TracePoint> run_of(const Values& values, Anchor anchor, double until) {
    std::vector<TracePoint> trace;
    const Transient transient = simulate(values, &trace);
    const auto moment = trace.empty() ? std::nullopt : moment_of(transient, trace, anchor);
    if (!moment) {
        return {};
    }
    for (TracePoint& point : trace) {
        point.time -= *moment;
    }
    if (transient.outcome == circuit::Outcome::stays_off) {
        go_on(trace, until);
    }
    return trace;
}

std::vector<BandPoint> band_of(const Circuit& circuit, Anchor anchor, double begin, double end) {
    Band band(begin, end);
    band.take(values_at(circuit, everything_typical()), anchor);
    band.take(worst_case(circuit).values, anchor);
    Draw draw(1);
    Position position{};
    for (int i = 0; i < drawn; ++i) {
        for (double& place : position) {
            // A third of the places are ends: the band is that of the corners.
            const double u = draw.uniform() * 1.5 - 0.25;
            place = std::clamp(u, 0.0, 1.0);
        }
        band.take(values_at(circuit, position), anchor);
    }
    return std::move(band).points();
}

}  // namespace nightlatch::measured
