// SPDX-License-Identifier: MIT
#include "line_view.hpp"

#include <algorithm>

namespace nightlatch::proof {

void LineView::found(Instant at, Level level, bool lasts) {
    lose();
    known_ = true;
    level_ = level;
    stable_since_ = at;
    if (lasts && level == Level::active) {
        begins_[0] = at;
    }
}

void LineView::lose() {
    known_ = false;
    settled_.reset();
    in_episode_ = false;
    forget_begins();
}

bool LineView::edge(Instant stamp, Level level, bool may_begin) {
    if (!known_ || stamp < stable_since_ || (settled_ && stamp < settled_at_)) {
        lose();
        return false;
    }
    if (!in_episode_ && settled_) {
        in_episode_ = true;
        episode_ = stamp;
        if (settled_released()) {
            forget_begins();  // it was let go, for however long
        }
    }
    if (level_ == Level::inactive) {
        drop_out(stamp - stable_since_);
    }
    level_ = level;
    stable_since_ = stamp;
    if (level == Level::active && may_begin && begins_[0] == never) {
        begins_[0] = stamp;
    }
    Instant earliest = never;  // what begins later with as many drop-outs, or more, says nothing
    for (Instant& begin : begins_) {
        begin = begin < earliest ? begin : never;
        earliest = std::min(earliest, begin);
    }
    return true;
}

void LineView::drop_out(Duration length) {
    std::array<Instant, most> moved;
    moved.fill(never);
    const auto room = static_cast<std::size_t>(settings_->release_interval.count());
    const auto by = static_cast<std::size_t>(length.count());
    for (std::size_t i = 0; i + by < room; ++i) {
        moved[i + by] = begins_[i];
    }
    begins_ = moved;
}

LineView::Settles LineView::run_until(Instant at) {
    const bool pressed = level_ == Level::active;
    const Instant settles =
        stable_since_ + (pressed ? settings_->press_interval : settings_->release_interval);
    if (!known_ || (settled_ && !in_episode_) || settles > at) {
        return {};
    }
    settled_ = level_;
    settled_at_ = settles;
    in_episode_ = false;
    return {pressed, !pressed, settles};
}

Duration LineView::lasted(Instant at) const {
    const Instant earliest = *std::min_element(begins_.begin(), begins_.end());
    return earliest == never ? Duration(-1) : at - earliest;
}

}  // namespace nightlatch::proof
