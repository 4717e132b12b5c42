// SPDX-License-Identifier: MIT
#include "measured/curve.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace nightlatch::measured {
namespace {

double median_of(std::vector<double> values) {
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

std::vector<double> running_median(const std::vector<VoltPoint>& points) {
    std::vector<double> smooth;
    smooth.reserve(points.size());
    for (std::size_t i = 0; i < points.size(); ++i) {
        const std::size_t reach = std::min({std::size_t{2}, i, points.size() - 1 - i});
        std::array<double, 5> near{};
        for (std::size_t k = 0; k <= 2 * reach; ++k) {
            near[k] = points[i - reach + k].volts;
        }
        const auto middle = near.begin() + static_cast<std::ptrdiff_t>(reach);
        std::nth_element(
            near.begin(), middle, near.begin() + static_cast<std::ptrdiff_t>(2 * reach + 1));
        smooth.push_back(*middle);
    }
    return smooth;
}

/// Second differences take a curve's own course out; of white noise they have six times its
/// variance, and the median of their size is 0.6745 of a standard deviation.
double error_of(const std::vector<VoltPoint>& points) {
    std::vector<double> bends;
    double step = 0.0;
    bends.reserve(points.size());
    for (std::size_t i = 1; i + 1 < points.size(); ++i) {
        const double before = points[i].volts - points[i - 1].volts;
        const double after = points[i + 1].volts - points[i].volts;
        bends.push_back(std::abs(after - before));
        const double moved = std::abs(before);
        step = moved > 1e-6 && (step == 0.0 || moved < step) ? moved : step;
    }
    const double deviation = median_of(std::move(bends)) / (0.6745 * std::sqrt(6.0));
    return std::max({2.0 * deviation, step, 1e-4});
}

}  // namespace

CapturedCurve::CapturedCurve(std::vector<VoltPoint> points) : points_(std::move(points)) {
    if (is_there()) {
        smooth_ = running_median(points_);
        error_ = error_of(points_);
    }
}

std::size_t CapturedCurve::index_at(double time) const {
    const auto found = std::lower_bound(
        points_.begin(), points_.end(), time, [](const VoltPoint& point, double when) {
            return point.at < when;
        });
    return static_cast<std::size_t>(found - points_.begin());
}

double CapturedCurve::at(double time) const {
    const std::size_t after = index_at(time);
    if (after == 0 || after == size()) {
        return smooth_[after == 0 ? 0 : size() - 1];
    }
    const double span = points_[after].at - points_[after - 1].at;
    const double part = span > 0.0 ? (time - points_[after - 1].at) / span : 1.0;
    return smooth_[after - 1] + part * (smooth_[after] - smooth_[after - 1]);
}

double CapturedCurve::highest() const {
    return *std::max_element(smooth_.begin(), smooth_.end());
}

double CapturedCurve::plateau() const {
    const double most = highest();
    std::vector<double> near;
    for (const double volts : smooth_) {
        if (volts >= 0.95 * most) {
            near.push_back(volts);
        }
    }
    return near.empty() ? most : median_of(std::move(near));
}

std::size_t CapturedCurve::first_below(double level, std::size_t from) const {
    for (std::size_t i = from; i + 2 < size(); ++i) {
        if (smooth_[i] < level && smooth_[i + 1] < level && smooth_[i + 2] < level) {
            return i;
        }
    }
    return size();
}

double CapturedCurve::median_before(std::size_t end) const {
    std::vector<double> values;
    values.reserve(end);
    for (std::size_t i = 0; i < end; ++i) {
        values.push_back(points_[i].volts);
    }
    return median_of(std::move(values));
}

}  // namespace nightlatch::measured
