// SPDX-License-Identifier: MIT
#include "measured/shape.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace nightlatch::measured {
namespace {

constexpr double has_fallen = 0.85;  ///< of its height: less is ripple, or a load that comes
constexpr double begins_below = 0.97;
constexpr double rises_again = 0.12;  ///< of its height, above the lowest
constexpr std::size_t least_fitted = 8;
constexpr std::size_t least_before = 5;  // samples of a rail that is up

/// A rail that is never a volt is not one.
constexpr double least_rail = 1.0;

/// Least squares; the slope, per second.
double slope_of(const CapturedCurve& curve, std::size_t begin, std::size_t end) {
    const auto count = static_cast<double>(end - begin);
    double mean_time = 0.0;
    double mean = 0.0;
    for (std::size_t i = begin; i < end; ++i) {
        mean_time += curve.time(i) / count;
        mean += curve.points()[i].volts / count;
    }
    double square = 0.0;
    double product = 0.0;
    for (std::size_t i = begin; i < end; ++i) {
        const double time = curve.time(i) - mean_time;
        square += time * time;
        product += time * (curve.points()[i].volts - mean);
    }
    return square > 0.0 ? product / square : 0.0;
}

class RailReading {
public:
    RailReading(const CapturedCurve& rail, const Expected& expected)
        : rail_(rail), expected_(expected) {}

    RailShape run() {
        shape_.high = rail_.plateau();
        shape_.end = rail_.smooth(rail_.size() - 1);
        const std::size_t low = rail_.first_below(has_fallen * shape_.high, 0);
        if (shape_.high < least_rail || low == rail_.size()) {
            return shape_;
        }
        begin_ = low;
        while (begin_ > 0 && rail_.smooth(begin_) < begins_below * shape_.high) {
            --begin_;
        }
        if (begin_ < least_before || shape_.high < has_fallen * expected_.rail_on) {
            return shape_;  // it fell before the capture began
        }
        shape_.falls = rail_.time(begin_);
        find_turn(low);
        find_slope();
        find_down();
        return shape_;
    }

private:
    void find_turn(std::size_t from) {
        turn_ = rail_.size();
        std::size_t lowest = from;
        const double rise = std::max(rises_again * shape_.high, 4.0 * rail_.error());
        for (std::size_t i = from; i < rail_.size(); ++i) {
            if (rail_.smooth(i) < rail_.smooth(lowest)) {
                lowest = i;
            }
            if (rail_.smooth(i) > rail_.smooth(lowest) + rise) {
                turn_ = last_as_low(lowest, i);
                shape_.turns = rail_.time(turn_);
                shape_.turns_at = rail_.smooth(turn_);
                return;
            }
        }
    }

    /// Noise aside.
    [[nodiscard]] std::size_t last_as_low(std::size_t lowest, std::size_t before) const {
        while (before > lowest && rail_.smooth(before) > rail_.smooth(lowest) + rail_.error()) {
            --before;
        }
        return before;
    }

    void find_slope() {
        const double floor = std::max(1.04 * expected_.cut_out + rail_.error(),
                                      shape_.turns ? shape_.turns_at + rail_.error() : 0.0);
        std::size_t begin = begin_;
        while (begin < turn_ && rail_.smooth(begin) > 0.95 * shape_.high) {
            ++begin;
        }
        std::size_t end = begin;
        while (end < turn_ && rail_.smooth(end) > floor) {
            ++end;
        }
        // The median of five bends where the fall ends.
        end = end >= begin + 2 ? end - 2 : begin;
        if (end < begin + least_fitted ||
            rail_.smooth(begin) - rail_.smooth(end - 1) < 0.08 * shape_.high) {
            return;
        }
        const double per_second = -slope_of(rail_, begin, end);
        if (per_second <= 0.0) {
            return;
        }
        shape_.slope = RailShape::Slope{rail_.smooth(begin), rail_.smooth(end - 1), per_second};
        shape_.falls = rail_.time(begin) - (shape_.high - rail_.smooth(begin)) / per_second;
    }

    void find_down() {
        const double level = shape_.end + 0.05 * shape_.high + rail_.error();
        const std::size_t down = rail_.first_below(level, begin_);
        shape_.down = rail_.time(std::min(down, rail_.size() - 1));
    }

    const CapturedCurve& rail_;
    const Expected& expected_;
    RailShape shape_;
    std::size_t begin_ = 0;
    std::size_t turn_ = 0;
};

/// Where the line is high, and its next fall is its death; size() for nowhere.
std::size_t alive_at(const CapturedCurve& line, const std::optional<RailShape>& rail, double high) {
    if (!rail || !rail->falls) {
        std::size_t last = line.size() - 1;
        while (last > 0 && line.smooth(last) < 0.9 * high) {
            --last;
        }
        return last;
    }
    // The supply may open at once: the line rises within the same few samples. Between the kernel's
    // two levels it is low, and alive.
    const std::size_t begin = line.index_at(*rail->falls);
    const std::size_t soon = std::min(begin + least_before, line.size());
    for (std::size_t i = begin; i < soon; ++i) {
        if (line.smooth(i) >= 0.9 * high) {
            return i;
        }
    }
    return line.size();
}

LineShape line_shape(const CapturedCurve& line,
                     const std::optional<RailShape>& rail,
                     const Expected& expected) {
    LineShape shape;
    const double high = line.plateau();
    if (high < expected.line_high / 2.0) {
        return shape;
    }
    if (line.smooth(0) < 0.3 * high) {
        std::size_t rise = 0;
        while (line.smooth(rise) < high / 2.0) {
            ++rise;
        }
        shape.rises = line.time(rise);
    }
    if (!expected.line_shows_death) {
        return shape;
    }
    const std::size_t from = alive_at(line, rail, high);
    const std::size_t dead = line.first_below(0.9 * high, from);
    if (dead < line.size()) {
        shape.dies = line.time(dead);
    }
    return shape;
}

/// Fits A e^(-t/tau) by Gauss and Newton.
class Fit {
public:
    Fit(const CapturedCurve& curve, std::size_t begin, std::size_t end)
        : curve_(curve), begin_(begin), end_(end) {}

    /// tau, with the zero line at `zero`; 0 when there is none.
    double run(double zero) {
        const double first = curve_.smooth(begin_) - zero;
        const double last = curve_.smooth(end_ - 1) - zero;
        if (first <= 0.0 || last <= 0.0 || last >= first) {
            return 0.0;
        }
        const double length = curve_.time(end_ - 1) - curve_.time(begin_);
        amplitude_ = first;
        rate_ = std::log(first / last) / length;
        for (int i = 0; i < 25; ++i) {
            step(zero);
        }
        return std::isfinite(rate_) && rate_ > 0.0 ? 1.0 / rate_ : 0.0;
    }

    [[nodiscard]] double amplitude() const { return amplitude_; }

private:
    void step(double zero) {
        double aa = 0.0;
        double ab = 0.0;
        double bb = 0.0;
        double ra = 0.0;
        double rb = 0.0;
        for (std::size_t i = begin_; i < end_; ++i) {
            const double time = curve_.time(i) - curve_.time(begin_);
            const double shape = std::exp(-rate_ * time);
            const double by_rate = -amplitude_ * time * shape;
            const double rest = curve_.points()[i].volts - zero - amplitude_ * shape;
            aa += shape * shape;
            ab += shape * by_rate;
            bb += by_rate * by_rate;
            ra += shape * rest;
            rb += by_rate * rest;
        }
        const double determinant = aa * bb - ab * ab;
        if (determinant <= 0.0) {
            return;
        }
        amplitude_ += (ra * bb - rb * ab) / determinant;
        rate_ = std::max(rate_ + (rb * aa - ra * ab) / determinant, rate_ / 4.0);
    }

    const CapturedCurve& curve_;
    std::size_t begin_;
    std::size_t end_;
    double amplitude_ = 0.0;
    double rate_ = 0.0;
};

class HoldReading {
public:
    HoldReading(const CapturedCurve& hold, Shape& shape) : hold_(hold), shape_(shape) {}

    void run() {
        peak_ = hold_.highest();
        if (peak_ < 10.0 * hold_.error() || peak_ < 0.1) {
            shape_.no_decay = "the hold capacitor is never charged";
            return;
        }
        find_zero();
        find_begin();
        find_end();
        fit();
    }

private:
    /// What it reads before it is charged is the oscilloscope's zero line.
    void find_zero() {
        std::size_t before = 0;
        while (before < hold_.size() && hold_.smooth(before) < 0.1 * peak_) {
            ++before;
        }
        constexpr std::size_t enough = 10;
        zero_known_ = before >= enough;
        zero_ = zero_known_ ? hold_.median_before(before - before / 4) : 0.0;
    }

    /// The line's death; else where it has just left its highest level for good.
    void find_begin() {
        begin_ = hold_.size();
        while (begin_ > 0 && hold_.smooth(begin_ - 1) < zero_ + 0.98 * (peak_ - zero_)) {
            --begin_;
        }
        if (shape_.line && shape_.line->dies) {
            begin_ = hold_.index_at(*shape_.line->dies) + 1;
        }
        begin_ = std::min(begin_, hold_.size());
    }

    void find_end() {
        const double floor = zero_ + std::max(0.12 * (peak_ - zero_), 6.0 * hold_.error());
        const double again = std::max(0.08 * peak_, 4.0 * hold_.error());
        double lowest = peak_;
        end_ = begin_;
        while (end_ < hold_.size() && hold_.smooth(end_) > floor &&
               hold_.smooth(end_) < lowest + again) {
            lowest = std::min(lowest, hold_.smooth(end_));
            ++end_;
        }
        if (shape_.rail && shape_.rail->turns) {
            end_ = std::min(end_, std::max(begin_, hold_.index_at(*shape_.rail->turns)));
        }
    }

    void fit() {
        if (end_ < begin_ + least_fitted ||
            hold_.smooth(end_ - 1) - zero_ > 0.9 * (hold_.smooth(begin_) - zero_)) {
            shape_.no_decay = "too little of the hold capacitor's discharge is in the capture";
            return;
        }
        const double doubt =
            zero_known_ ? hold_.error() / 2.0 : std::max(hold_.error(), 0.01 * peak_);
        Decay decay;
        Fit fit(hold_, begin_, end_);
        decay.tau = fit.run(zero_);
        decay.begins = hold_.time(begin_);
        decay.from = fit.amplitude();
        const double length = hold_.time(end_ - 1) - decay.begins;
        decay.to = decay.tau > 0.0 ? decay.from * std::exp(-length / decay.tau) : 0.0;
        decay.tau_least = fit.run(zero_ + doubt);
        decay.tau_most = fit.run(zero_ - doubt);
        if (decay.tau > 0.0 && decay.tau_least > 0.0 && decay.to < decay.from) {
            shape_.decay = decay;
        } else {
            shape_.no_decay = "the hold capacitor's discharge is not an exponential";
        }
    }

    const CapturedCurve& hold_;
    Shape& shape_;
    double peak_ = 0.0;
    double zero_ = 0.0;
    bool zero_known_ = false;
    std::size_t begin_ = 0;
    std::size_t end_ = 0;
};

}  // namespace

Shape shape_of(const Waves& waves, const Expected& expected) {
    Shape shape;
    for (const CapturedCurve* curve : {&waves.line, &waves.hold, &waves.rail}) {
        if (curve->is_there()) {
            shape.ends = std::max(shape.ends, curve->time(curve->size() - 1));
        }
    }
    if (waves.rail.is_there()) {
        shape.rail = RailReading(waves.rail, expected).run();
    }
    if (waves.line.is_there()) {
        shape.line = line_shape(waves.line, shape.rail, expected);
    }
    if (waves.hold.is_there()) {
        HoldReading(waves.hold, shape).run();
    } else {
        shape.no_decay = "the hold capacitor was not captured";
    }
    return shape;
}

}  // namespace nightlatch::measured
