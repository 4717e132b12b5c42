// SPDX-License-Identifier: MIT
#pragma once

#include "wave/volts_reader.hpp"

#include <cstddef>
#include <optional>
#include <vector>

namespace nightlatch::measured {

using wave::VoltPoint;

/// A captured voltage with what its noise and its converter's steps leave of it. Times in seconds,
/// in order.
class CapturedCurve {
public:
    CapturedCurve() = default;
    explicit CapturedCurve(std::vector<VoltPoint> points);

    [[nodiscard]] bool is_there() const { return points_.size() >= least_points; }

    [[nodiscard]] const std::vector<VoltPoint>& points() const { return points_; }

    [[nodiscard]] std::size_t size() const { return points_.size(); }

    [[nodiscard]] double time(std::size_t i) const { return points_[i].at; }

    /// The running median of five: a spike is not a level.
    [[nodiscard]] double smooth(std::size_t i) const { return smooth_[i]; }

    /// The same at a time, straight in between; the ends' outside.
    [[nodiscard]] double at(double time) const;

    /// The first sample at or after a time; size() for none.
    [[nodiscard]] std::size_t index_at(double time) const;

    /// How far a sample may be off by noise (two standard deviations) and by the converter's step.
    [[nodiscard]] double error() const { return error_; }

    /// Of the smooth ones.
    [[nodiscard]] double highest() const;

    /// The level of what lies within 5 % of the highest.
    [[nodiscard]] double plateau() const;

    /// The first sample from `from` on that is below the level with the two after it; size() for
    /// none.
    [[nodiscard]] std::size_t first_below(double level, std::size_t from) const;

    /// The middle one of so many samples at the beginning.
    [[nodiscard]] double median_before(std::size_t end) const;

private:
    static constexpr std::size_t least_points = 20;

    std::vector<VoltPoint> points_;
    std::vector<double> smooth_;
    double error_ = 0.0;
};

}  // namespace nightlatch::measured
