// SPDX-License-Identifier: MIT
#include "bounce/line_watch.hpp"

#include <algorithm>

namespace nightlatch::bounce {

LineWatch::LineWatch(Instant start, Level level) noexcept
    : start_(level), settled_(level), since_(start), now_(start) {
    debounce_.set_intervals(interval, interval);
    debounce_.reset(start, level);
}

void LineWatch::sample(const core::Sample& sample) noexcept {
    // A batch may bring an edge that is older than the deadline that was due.
    const core::Sample later{std::max(sample.stamp, since_), sample.level};
    ++edges_;
    debounce_.sample(later);
    now_ = std::max(now_, later.stamp);
    unsteady_ = unsteady_ || (debounce_.in_episode() &&
                              later.stamp - debounce_.unsettled_since() >= longest_settling);
}

Instant LineWatch::deadline() const noexcept {
    if (const Instant settles = debounce_.deadline(); settles != never) {
        return settles;
    }
    if (changes_ < 2 || rest() == settled_) {
        return never;
    }
    // When the level that it has come back to will have lasted as long as the other.
    const Duration missing = time_at(!settled_) - time_at(settled_);
    return now_ + missing + (settled_ == start_ ? Duration::zero() : Duration(1));
}

void LineWatch::advance(Instant now) noexcept {
    while (debounce_.deadline() <= now) {
        const core::Settled settled = debounce_.expire();
        now_ = std::max(now_, settled.at);
        switch (settled.kind) {
        case core::SettleKind::pressed:
        case core::SettleKind::found_pressed:
            settle(settled.at, Level::active);
            break;
        case core::SettleKind::released:
            settle(settled.at, Level::inactive);
            break;
        case core::SettleKind::glitch:
        case core::SettleKind::pressed_again:
            break;
        }
    }
    now_ = std::max(now_, now);
}

Level LineWatch::rest() const noexcept {
    return time_at(start_) >= time_at(!start_) ? start_ : !start_;
}

bool LineWatch::whole_press() const noexcept {
    return changes_ >= 2 && !settling() && settled_ == rest();
}

Duration LineWatch::time_at(Level level) const noexcept {
    const Duration before = level == Level::active ? at_high_ : at_low_;
    return before + (level == settled_ ? now_ - since_ : Duration::zero());
}

void LineWatch::settle(Instant at, Level level) noexcept {
    if (level == settled_) {
        return;
    }
    (settled_ == Level::active ? at_high_ : at_low_) += at - since_;
    settled_ = level;
    since_ = at;
    ++changes_;
    first_change_ = std::min(first_change_, at);
}

Instant next_deadline(std::span<const LineWatch> lines) noexcept {
    Instant next = never;
    for (const LineWatch& line : lines) {
        next = std::min(next, line.deadline());
    }
    return next;
}

bool finished(std::span<const LineWatch> lines) noexcept {
    const auto settling = [](const LineWatch& line) { return line.settling(); };
    const auto whole = [](const LineWatch& line) { return line.whole_press(); };
    return std::none_of(lines.begin(), lines.end(), settling) &&
           std::any_of(lines.begin(), lines.end(), whole);
}

}  // namespace nightlatch::bounce
