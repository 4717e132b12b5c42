// SPDX-License-Identifier: MIT
#pragma once

#include "picture/svg.hpp"

#include <span>
#include <string>
#include <vector>

namespace nightlatch::picture::svg {

/// A curve as it is drawn, its points from left to right.
using Track2D = std::vector<Point>;

/// The height of a track at `x`, where it has one: straight in between, the last before and the
/// first after its ends.
double height_at(const Track2D& track, double x);

/// Where a curve's name stands.
struct CurveLabel {
    Point at;  ///< the text's left end, on its base line
    Box box;   ///< what it covers
};

/// Lines through the plot that a name keeps off.
struct Ruled {
    std::vector<double> levels;    ///< heights of horizontal ones
    std::vector<double> uprights;  ///< where vertical ones are
};

/// For each track the place along it, above or below, that is farthest from every other track and
/// from what is ruled, such that no two names meet. `area` is the plot.
std::vector<CurveLabel> place_names(std::span<const Track2D> tracks,
                                    std::span<const std::string> names,
                                    const Ruled& ruled,
                                    const Box& area);

/// Heights of texts that would stand at `wanted` (ascending), moved apart so that each has `room`,
/// and kept between `top` and `bottom` as far as they fit.
std::vector<double> moved_apart(std::vector<double> wanted, double room, double top, double bottom);

}  // namespace nightlatch::picture::svg
