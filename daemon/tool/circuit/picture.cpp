// SPDX-License-Identifier: MIT
#include "circuit/parameters.hpp"
#include "daemon/tool/circuit/circuit.hpp"
#include "daemon/tool/circuit/words.hpp"
#include "picture/curves.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace nightlatch::tool {
namespace {

using circuit::TracePoint;
using circuit::Transient;
using circuit::Unit;
using picture::CurvePanel;

constexpr double air = 1.15;  ///< of the panel's time behind what matters

picture::Curve curve_of(std::string name,
                        const std::vector<TracePoint>& trace,
                        double TracePoint::*value) {
    picture::Curve curve{std::move(name), {}};
    curve.points.reserve(trace.size());
    for (const TracePoint& point : trace) {
        curve.points.push_back({point.time, point.*value});
    }
    return curve;
}

/// Until the later of what races has happened, or all that was computed: of a supply that comes
/// back nothing is known of how the rail would have gone on.
double end_of(const Transient& transient, const std::vector<TracePoint>& trace) {
    const double traced = trace.empty() ? 1.0 : trace.back().time;
    if (transient.outcome == circuit::Outcome::comes_back) {
        return traced;
    }
    double end = 0.0;
    if (std::isfinite(transient.opened_at)) {
        for (const double after : {transient.hold_off, transient.rail_fall}) {
            end = std::isfinite(after) ? std::max(end, transient.opened_at + after) : end;
        }
    }
    return end > 0.0 ? std::min(end * air, std::max(traced, end)) : traced;
}

std::vector<picture::CurveSpan> spans_of(const Transient& transient) {
    std::vector<picture::CurveSpan> spans;
    if (!std::isfinite(transient.opened_at)) {
        return spans;
    }
    const double opened = transient.opened_at;
    const double fallen = opened + transient.rail_fall;
    const double let_go = opened + transient.hold_off;
    spans.push_back({"the line charges the hold capacitor and the supply opens: " +
                         value_text(opened, Unit::second),
                     0.0,
                     opened});
    spans.push_back({"the rail falls to where the latch stays off: " +
                         value_text(transient.rail_fall, Unit::second),
                     opened,
                     fallen});
    spans.push_back(
        {"the release is held: " + value_text(transient.hold_off, Unit::second), opened, let_go});
    if (std::isfinite(transient.margin)) {
        spans.push_back({(transient.margin >= 0.0 ? "margin: " : "missing: ") +
                             value_text(std::abs(transient.margin), Unit::second),
                         std::min(fallen, let_go),
                         std::max(fallen, let_go)});
    }
    return spans;
}

CurvePanel panel_of(const std::string& name, const circuit::Values& values) {
    std::vector<TracePoint> trace;
    const Transient transient = circuit::simulate(values, &trace);
    CurvePanel panel;
    panel.name = name;
    panel.about = "The supply " + outcome_word(transient) +
                  (std::isfinite(transient.margin) ? "; margin " + margin_text(transient.margin)
                                                   : std::string{});
    panel.unit = "V";
    panel.end = end_of(transient, trace);
    panel.curves = {curve_of("hold capacitor", trace, &TracePoint::hold),
                    curve_of("rail", trace, &TracePoint::rail),
                    curve_of(is_active_low(values.parts) ? "inverter" : "post-halt line",
                             trace,
                             &TracePoint::line)};
    const double release = transient.release_level;
    panel.levels = {{"the release is held above " + value_text(release, Unit::volt), release},
                    {"the latch switches on above " + value_text(transient.latch_level, Unit::volt),
                     transient.latch_level},
                    {"regulator's cut-out " + value_text(values.parts.cut_out, Unit::volt),
                     values.parts.cut_out}};
    panel.spans = spans_of(transient);
    return panel;
}

}  // namespace

std::string circuit_picture(const CircuitReport& report) {
    const std::array panels{
        panel_of("At the worst corner of all tolerances", report.assessment.worst.values),
        panel_of("With typical parts",
                 circuit::values_at(report.circuit, circuit::everything_typical()))};
    return picture::draw_curves(panels,
                                {report.file + ": switching off", report.assessment.headline});
}

}  // namespace nightlatch::tool
