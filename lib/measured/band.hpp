// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/corners.hpp"
#include "measured/shape.hpp"

#include <optional>
#include <vector>

namespace nightlatch::measured {

/// What measured and computed curves are laid upon each other by.
enum class Anchor : unsigned char {
    opens,      ///< the rail begins to fall
    line_dies,  ///< or, where that was not captured, the line dies: the discharge begins
    none,       ///< the capture shows neither
};

struct Anchored {
    Anchor anchor = Anchor::none;
    double at = 0.0;  ///< s since the capture's first row
};

Anchored anchor_of(const Shape& shape);

/// A computed run by the time after its anchor (negative before), up to `until`; empty when the
/// anchor does not come. What stays off goes on as it was at the end of what is simulated.
std::vector<circuit::TracePoint> run_of(const circuit::Values& values, Anchor anchor, double until);

/// From the lowest to the highest of the circuits drawn, beside each other at one time before or
/// after the anchor.
struct BandPoint {
    double at = 0.0;  ///< s after the anchor; negative before
    circuit::TracePoint low;
    circuit::TracePoint high;
};

/// Over circuits drawn within the spreads, the worst corner and typical parts, from `begin` to
/// `end`; a run that has ended by then has no part in it. The same for the same circuit on every
/// machine.
std::vector<BandPoint> band_of(const circuit::Circuit& circuit,
                               Anchor anchor,
                               double begin,
                               double end);

}  // namespace nightlatch::measured
