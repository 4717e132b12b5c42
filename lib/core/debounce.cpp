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

Instant Debounce::settle_deadline() const noexcept {
    return stable_since_ + (raw_ == Level::active ? press_ : release_);
}

Instant Debounce::void_deadline() const noexcept {
    // While nothing was settled before, there is no press to void.
    return settled_ ? episode_start_ + longest_episode(press_, release_) : never;
}

Instant Debounce::deadline() const noexcept {
    if (!raw_ || (settled_ && !unsettled_)) {
        return never;
    }
    return std::min(settle_deadline(), void_deadline());
}

Settled Debounce::expire() noexcept {
    NIGHTLATCH_ENSURE(deadline() != never);
    if (void_deadline() < settle_deadline()) {
        const Instant at = void_deadline();
        settled_.reset();
        unsettled_ = false;
        return {SettleKind::voided, at, episode_start_};
    }
    const Instant at = settle_deadline();
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
