// SPDX-License-Identifier: MIT
#include "picture/curves_scale.hpp"

#include "picture/diagram_text.hpp"

#include <algorithm>
#include <cmath>

namespace nightlatch::picture::svg {
namespace {

/// 1, 2 or 5 of a decade, such that there are at most `most` steps.
double round_step(double whole, double most) {
    const double least = whole / most;
    const double decade = std::pow(10.0, std::floor(std::log10(least)));
    for (const double step : {1.0, 2.0, 5.0}) {
        if (step * decade >= least * (1.0 - 1e-9)) {
            return step * decade;
        }
    }
    return 10.0 * decade;
}

Duration duration_of(double time) {
    return std::chrono::duration_cast<Duration>(std::chrono::duration<double>(time));
}

std::vector<Tick> ticks_between(double begin, double end, double left, double right) {
    const wave::Timeline none;
    Axis axis;
    axis.per_second = (right - left) / (end - begin);
    axis.pieces = {{{duration_of(begin), duration_of(end)}, 0, left, right}};
    return ticks_of({none, axis}, 0);
}

}  // namespace

CurveScale::CurveScale(const CurvePanel& panel, double highest, double floor)
    : detail_(panel.detail), end_(panel.end), floor_(floor) {
    if (detail_ > 0) {
        split_ += detail_share * (curves_right - curves_left);
        per_second_at_first_ = (split_ - curves_left) / detail_;
    }
    per_second_ = (curves_right - split_) / (end_ - detail_);
    value_step_ = round_step(highest, 7);
    most_ = value_step_ * std::ceil(highest / value_step_ - 1e-9);
    per_value_ = curves_height / most_;
}

double CurveScale::x(double at) const {
    return at < detail_ ? curves_left + at * per_second_at_first_
                        : split_ + (at - detail_) * per_second_;
}

std::vector<Tick> CurveScale::ticks() const {
    std::vector<Tick> ticks;
    if (detail_ > 0) {
        ticks = ticks_between(0, detail_, curves_left, split_);
    }
    double free_from = 0;
    for (const Tick& tick : ticks) {
        if (!tick.text.empty()) {
            free_from = tick.x + width_of(tick.text, Font::small) / 2 + 6;
        }
    }
    for (Tick tick : ticks_between(detail_, end_, split_, curves_right)) {
        if (tick.x - width_of(tick.text, Font::small) / 2 < free_from) {
            tick.text.clear();
        }
        ticks.push_back(std::move(tick));
    }
    return ticks;
}

std::string CurveScale::detail_words() const {
    if (detail_ <= 0) {
        return {};
    }
    const double times = per_second_at_first_ / per_second_;
    return "the first " + time_text(duration_of(detail_)) + ", stretched " +
           number(std::round(times)) + " times";
}

}  // namespace nightlatch::picture::svg
