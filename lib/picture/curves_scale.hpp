// SPDX-License-Identifier: MIT
#pragma once

#include "picture/curves.hpp"
#include "picture/diagram_ticks.hpp"
#include "picture/svg.hpp"

#include <string>
#include <vector>

namespace nightlatch::picture::svg {

/// Where a panel's plot is across the picture; what is right of it names the levels.
constexpr double curves_left = 70;
constexpr double curves_right = 930;
constexpr double curves_height = 250;
/// What of the plot's width the beginning has, where it has a scale of its own.
constexpr double detail_share = 0.45;

/// From seconds and values to the picture.
class CurveScale {
public:
    /// `panel` is tidy; `highest`: the largest value; `floor`: the height of the value 0.
    CurveScale(const CurvePanel& panel, double highest, double floor);

    [[nodiscard]] double x(double at) const;

    [[nodiscard]] double y(double value) const { return floor_ - value * per_value_; }

    [[nodiscard]] double floor() const { return floor_; }

    /// The value at the plot's upper edge, and from one line of the grid to the next.
    [[nodiscard]] double most() const { return most_; }

    [[nodiscard]] double value_step() const { return value_step_; }

    /// Where the time's scale changes; the plot's left edge where it has only one.
    [[nodiscard]] double split() const { return split_; }

    /// Of both scales; no two texts meet.
    [[nodiscard]] std::vector<Tick> ticks() const;

    /// "the first 69 ms, stretched 33 times"; empty where there is one scale.
    [[nodiscard]] std::string detail_words() const;

private:
    double detail_;
    double end_;
    double split_ = curves_left;
    double per_second_at_first_ = 1;
    double per_second_ = 1;
    double value_step_ = 1;
    double most_ = 1;
    double per_value_ = 1;
    double floor_;
};

}  // namespace nightlatch::picture::svg
