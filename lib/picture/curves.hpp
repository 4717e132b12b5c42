// SPDX-License-Identifier: MIT
#pragma once

#include "picture/diagram.hpp"

#include <span>
#include <string>
#include <vector>

namespace nightlatch::picture {

/// A value at a time, in seconds since the panel's start.
struct CurvePoint {
    double at = 0;
    double value = 0;
};

/// Straight between its points, which are in order of time. Curves are told apart by their strokes
/// and by their names, which stand at them.
struct Curve {
    std::string name;  ///< "hold capacitor"
    std::vector<CurvePoint> points;
};

/// Between two values at each time, shaded behind the curves.
struct CurveBand {
    struct Point {
        double at = 0;
        double low = 0;
        double high = 0;
    };

    std::vector<Point> points;  ///< in order of time
};

/// A value that matters: a dashed line across the plot, named at its right end.
struct CurveLevel {
    std::string name;  ///< "release threshold 1.5 V"
    double value = 0;
};

/// A stretch of time that matters, drawn as a bar above the plot, with its ends led down into it.
struct CurveSpan {
    std::string name;  ///< "the rail falls: 62 ms"
    double begin = 0;
    double end = 0;
};

/// One plot, its time from 0 to `end` (above zero): in one scale, or the first `detail` seconds of
/// it in a wider one, which is said below them. The values' axis begins at 0 and reaches to the
/// largest value drawn.
struct CurvePanel {
    std::string name;
    std::string about;  ///< the outcome, a line below the name
    std::string unit;   ///< of the values: "V"
    double end = 1;
    double detail = 0;  ///< the beginning that has a scale of its own, if above 0 and below `end`
    std::vector<Curve> curves;  ///< at most four have strokes of their own
    std::vector<CurveLevel> levels;
    std::vector<CurveSpan> spans;
    CurveBand band{};
};

/// The panels below each other in the look of the timing diagrams: an SVG that stands alone,
/// legible on light and dark pages and in print, well-formed whatever the texts hold; what lies
/// outside a panel's time, and what is not a number, is left out. The same panels give the same
/// bytes on every machine.
std::string draw_curves(std::span<const CurvePanel> panels, const DiagramTitle& title);

}  // namespace nightlatch::picture
