// SPDX-License-Identifier: MIT
#include "core/debounce.hpp"

#include "base/ensure.hpp"

#include <utility>

namespace nightlatch::core {

void Debounce::set_intervals(Duration press, Duration release) noexcept {
    press_ = press;
    release_ = release;
}

void Debounce::reset(Instant at, Level level) noexcept {
    settled_.reset();
    raw_ = level;
    stable_since_ = at;
    episode_start_ = at;
    unsettled_ = false;
}

void Debounce::lose() noexcept {
    settled_.reset();
    raw_.reset();
    unsettled_ = false;
}

void Debounce::sample(const Sample& sample) noexcept {
    if (settled_ && !unsettled_) {
        unsettled_ = true;
        episode_start_ = sample.stamp;
    }
    if (settled_ == Level::active && raw_ == Level::inactive) {
        dropped_ += sample.stamp - stable_since_;
    }
    raw_ = sample.level;
    stable_since_ = sample.stamp;
}

Instant Debounce::unsettled_since() const noexcept {
    return raw_ && (unsettled_ || !settled_) ? episode_start_ : never;
}

Instant Debounce::deadline() const noexcept {
    if (unsettled_since() == never) {
        return never;
    }
    return stable_since_ + (raw_ == Level::active ? press_ : release_);
}

Settled Debounce::expire() noexcept {
    NIGHTLATCH_ENSURE(deadline() != never);
    const Instant at = deadline();
    if (settled_ == raw_) {
        unsettled_ = false;
        return let_go_meanwhile() ? press_again(at)
                                  : Settled{SettleKind::glitch, at, episode_start_};
    }
    const bool known = settled_.has_value();
    const Instant first = known ? episode_start_ : stable_since_;
    settled_ = raw_;
    unsettled_ = false;
    if (raw_ == Level::active) {
        dropped_ = Duration::zero();
        return {known ? SettleKind::pressed : SettleKind::found_pressed, at, stable_since_};
    }
    return {SettleKind::released, at, first};
}

/// Without a drop-out nobody let go, however short the release interval is.
bool Debounce::let_go_meanwhile() const noexcept {
    return settled_ == Level::active && dropped_ > Duration::zero() && dropped_ >= release_;
}

Settled Debounce::press_again(Instant at) noexcept {
    return {SettleKind::pressed_again,
            at,
            stable_since_,
            episode_start_,
            std::exchange(dropped_, Duration::zero())};
}

}  // namespace nightlatch::core
