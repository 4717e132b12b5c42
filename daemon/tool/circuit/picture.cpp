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

constexpr double air = 1.15;           ///< of the panel's time behind what matters
constexpr double most_squeezed = 0.3;  ///< of the width, for what has no scale of its own

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

/// Up to two digits, so that it is said in few words.
double rounded_up(double length) {
    const double unit = std::pow(10.0, std::floor(std::log10(length)) - 1.0);
    return std::ceil(length / unit - 1e-9) * unit;
}

/// How much of the beginning has a scale of its own: as much as holds what happens first, where
/// that is squeezed otherwise; 0 for nothing.
double detail_of(const Transient& transient, const std::vector<TracePoint>& trace, double end) {
    if (!std::isfinite(transient.opened_at)) {
        return 0.0;
    }
    const auto last_on = std::find_if(
        trace.rbegin(), trace.rend(), [](const TracePoint& point) { return point.line > 0.0; });
    const double first_over = std::min(transient.rail_fall, transient.hold_off);
    double detail = 0.0;
    for (const double wanted : {air * (transient.opened_at + first_over),
                                last_on == trace.rend() ? 0.0 : air * last_on->time,
                                2.0 * transient.opened_at}) {
        const bool squeezed = wanted < most_squeezed * end;
        detail = squeezed ? std::max(detail, wanted) : detail;
    }
    return detail > 0.0 ? rounded_up(detail) : 0.0;
}

/// In the unit that the axis has where the time ends.
class TimeWords {
public:
    explicit TimeWords(const CurvePanel& panel)
        : end_(panel.end), in_ms_until_(panel.end < 1.0 ? panel.end : std::min(panel.detail, 1.0)) {
    }

    [[nodiscard]] std::string operator()(double length, double ends_at) const {
        if (!std::isfinite(length)) {
            return value_text(length, Unit::second);
        }
        // What ends beyond the panel is told as at its edge, unless it is long itself.
        const bool in_ms = std::min(ends_at, end_) <= in_ms_until_ && length < 1.0;
        return in_ms ? circuit::number_text(length * 1e3, 3) + " ms"
                     : circuit::number_text(length, 3) + " s";
    }

private:
    double end_;          // s
    double in_ms_until_;  // s
};

/// In volts throughout, as the axis has them.
std::string in_volts(double value) {
    return std::isfinite(value) ? circuit::number_text(value, 3) + " V"
                                : value_text(value, Unit::volt);
}

std::vector<picture::CurveSpan> spans_of(const Transient& transient, const TimeWords& words) {
    std::vector<picture::CurveSpan> spans;
    if (!std::isfinite(transient.opened_at)) {
        return spans;
    }
    const double opened = transient.opened_at;
    const double fallen = opened + transient.rail_fall;
    const double let_go = opened + transient.hold_off;
    spans.push_back(
        {"the line charges the hold capacitor and the supply opens: " + words(opened, opened),
         0.0,
         opened});
    spans.push_back(
        {"the rail falls to where the latch stays off: " + words(transient.rail_fall, fallen),
         opened,
         fallen});
    spans.push_back({"the release is held: " + words(transient.hold_off, let_go), opened, let_go});
    if (std::isfinite(transient.margin)) {
        const double last = std::max(fallen, let_go);
        spans.push_back({(transient.margin >= 0.0 ? "margin: " : "missing: ") +
                             words(std::abs(transient.margin), last),
                         std::min(fallen, let_go),
                         last});
    }
    return spans;
}

CurvePanel panel_of(const std::string& name, const circuit::Values& values) {
    std::vector<TracePoint> trace;
    const Transient transient = circuit::simulate(values, &trace);
    CurvePanel panel;
    panel.name = name;
    panel.unit = "V";
    panel.end = end_of(transient, trace);
    panel.detail = detail_of(transient, trace, panel.end);
    const TimeWords words(panel);
    panel.about = "The supply " + outcome_word(transient);
    if (std::isfinite(transient.margin)) {
        panel.about += transient.margin >= 0.0 ? "; margin " : "; missing ";
        panel.about += words(std::abs(transient.margin), panel.end);
    }
    panel.curves = {curve_of("hold capacitor", trace, &TracePoint::hold),
                    curve_of("rail", trace, &TracePoint::rail),
                    curve_of(is_active_low(values.parts) ? "inverter" : "post-halt line",
                             trace,
                             &TracePoint::line)};
    const double release = transient.release_level;
    panel.levels = {
        {"the release is held above " + in_volts(release), release},
        {"the latch switches on above " + in_volts(transient.latch_level), transient.latch_level},
        {"regulator's cut-out " + in_volts(values.parts.cut_out), values.parts.cut_out}};
    panel.spans = spans_of(transient, words);
    return panel;
}

}  // namespace

std::string circuit_picture(const CircuitReport& report) {
    const std::array panels{
        panel_of("At the worst corner of all tolerances", report.assessment.worst.values),
        panel_of("With typical parts",
                 circuit::values_at(report.circuit, circuit::everything_typical()))};
    return picture::draw_curves(panels,
                                {report.assessment.headline, "Switching off: " + report.file});
}

}  // namespace nightlatch::tool
