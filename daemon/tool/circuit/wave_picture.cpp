// SPDX-License-Identifier: MIT
#include "circuit/corners.hpp"
#include "daemon/tool/circuit/wave.hpp"
#include "daemon/tool/circuit/words.hpp"
#include "measured/band.hpp"
#include "picture/curves.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace nightlatch::tool {
namespace {

using circuit::TracePoint;
using circuit::Transient;
using measured::Anchor;
using measured::Anchored;
using measured::BandPoint;
using measured::CapturedCurve;

constexpr std::size_t most_drawn = 3'000;

/// Seconds of the picture before and after the anchor.
struct Window {
    double before = 0.0;
    double after = 0.0;
};

double finite(double value) {
    return std::isfinite(value) ? value : 0.0;
}

/// All that was captured, as far as there is anything to see: a while before the line rises, and
/// until the later of what races is over.
Window window_of(const WaveReport& report, const Anchored& anchored) {
    const measured::Shape& shape = report.comparison.shape;
    const Transient typical =
        circuit::simulate(circuit::values_at(report.circuit, circuit::everything_typical()));
    const double opens = finite(typical.opened_at);
    const double rises = shape.line && shape.line->rises ? anchored.at - *shape.line->rises : opens;
    Window window;
    window.before =
        std::clamp(1.3 * std::max(rises, opens) + 1e-3, 0.0, std::max(anchored.at, opens));
    const double races = std::max(finite(typical.hold_off), finite(typical.rail_fall));
    window.after = std::clamp(1.3 * races, 0.1, 1e5);
    window.after = std::max(std::min(window.after, shape.ends - anchored.at), 1e-3);
    return window;
}

picture::Curve measured_curve(const CapturedCurve& curve, const Anchored& anchored, Window window) {
    picture::Curve drawn{"measured", {}};
    const std::size_t begin = curve.index_at(anchored.at - window.before);
    const std::size_t end = curve.index_at(anchored.at + window.after);
    const std::size_t step = std::max<std::size_t>((end - begin) / most_drawn + 1, 1);
    for (std::size_t i = begin; i < end; i += step) {
        drawn.points.push_back(
            {curve.time(i) - anchored.at + window.before, curve.points()[i].volts});
    }
    return drawn;
}

/// A computed run on the picture's time.
std::vector<TracePoint> moved(const circuit::Values& values, Anchor anchor, Window window) {
    std::vector<TracePoint> trace = measured::run_of(values, anchor, window.after);
    for (TracePoint& point : trace) {
        point.time += window.before;
    }
    return trace;
}

picture::Curve computed_curve(std::string name,
                              const std::vector<TracePoint>& trace,
                              double TracePoint::*value) {
    picture::Curve curve{std::move(name), {}};
    for (const TracePoint& point : trace) {
        curve.points.push_back({point.time, point.*value});
    }
    return curve;
}

struct Signal {
    const char* name;
    CapturedCurve measured::Waves::*curve;
    double TracePoint::*value;
};

class WavePicture {
public:
    explicit WavePicture(const WaveReport& report)
        : report_(report), anchored_(measured::anchor_of(report.comparison.shape)),
          window_(window_of(report, anchored_)) {
        if (anchored_.anchor == Anchor::none) {
            window_ = {0.0, std::max(report.comparison.shape.ends, 1e-3)};
            return;
        }
        typical_ = moved(circuit::values_at(report.circuit, circuit::everything_typical()),
                         anchored_.anchor,
                         window_);
        worst_ = moved(circuit::worst_case(report.circuit).values, anchored_.anchor, window_);
        band_ = measured::band_of(report.circuit, anchored_.anchor, -window_.before, window_.after);
    }

    std::string run() {
        std::vector<picture::CurvePanel> panels;
        for (const Signal& signal :
             {Signal{"Rail", &measured::Waves::rail, &TracePoint::rail},
              Signal{"Hold capacitor", &measured::Waves::hold, &TracePoint::hold},
              Signal{"Post-halt line", &measured::Waves::line, &TracePoint::line}}) {
            if ((report_.waves.*signal.curve).is_there()) {
                panels.push_back(panel_of(signal));
            }
        }
        const bool fine = report_.comparison.findings.empty();
        return picture::draw_curves(
            panels,
            {fine ? "Measured as computed." : "Not as computed: " + sentences(),
             report_.wave + " beside " + report_.file + "." + laid_upon()});
    }

private:
    [[nodiscard]] std::string sentences() const {
        std::string text;
        for (const circuit::Finding& one : report_.comparison.findings) {
            text += (text.empty() ? "" : " ") + one.sentence;
        }
        return text;
    }

    [[nodiscard]] std::string laid_upon() const {
        switch (anchored_.anchor) {
        case Anchor::opens:
            return " Laid upon each other where the rail begins to fall.";
        case Anchor::line_dies:
            return " Laid upon each other where the line dies.";
        case Anchor::none:
            break;
        }
        return " Nothing to lay the computed curves upon.";
    }

    [[nodiscard]] picture::CurvePanel panel_of(const Signal& signal) const {
        picture::CurvePanel panel;
        panel.name = signal.name;
        panel.about = "Shaded: between the lowest and the highest of the circuits within the "
                      "tolerances";
        panel.unit = "V";
        panel.end = window_.before + window_.after;
        panel.curves = {measured_curve(report_.waves.*signal.curve, anchored_, window_),
                        computed_curve("typical", typical_, signal.value),
                        computed_curve("worst corner", worst_, signal.value)};
        for (const BandPoint& point : band_) {
            panel.band.points.push_back(
                {point.at + window_.before, point.low.*signal.value, point.high.*signal.value});
        }
        return panel;
    }

    const WaveReport& report_;
    Anchored anchored_;
    Window window_;
    std::vector<TracePoint> typical_;
    std::vector<TracePoint> worst_;
    std::vector<BandPoint> band_;
};

}  // namespace

std::string wave_picture(const WaveReport& report) {
    return WavePicture(report).run();
}

}  // namespace nightlatch::tool
