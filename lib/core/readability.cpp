// SPDX-License-Identifier: MIT
#include "core/readability.hpp"

#include <algorithm>

namespace nightlatch::core {

void Readability::set(const Limits& limits, Duration longer_interval) noexcept {
    limits_ = &limits;
    trial_patience_ = std::max(limits.trial_patience, limits.trial_intervals * longer_interval);
}

void Readability::opened(Instant at) noexcept {
    opened_at_ = at;
    reset();
}

bool Readability::found_unreadable(Instant at) noexcept {
    if (suspect_) {
        return false;
    }
    suspect_ = true;
    suspect_since_ = at;
    return true;
}

bool Readability::vanished(Instant at) noexcept {
    suspect_ = suspect_ && !trusted(at);
    return trusted(at);
}

Instant Readability::readable_at() const noexcept {
    return suspect_ ? opened_at_ + limits_->trial : never;
}

Duration Readability::readable_again() noexcept {
    suspect_ = false;
    return opened_at_ - suspect_since_;
}

void Readability::reset() noexcept {
    storm_.reset();
    last_edge_ = Instant::min();
    known_changes_ = 0;
}

bool Readability::edges(Instant stamp, std::uint32_t count) noexcept {
    if (count == 0) {
        return false;
    }
    if (last_edge_ == Instant::min() || stamp >= last_edge_ + limits_->busy_pause) {
        busy_since_ = stamp;
    }
    last_edge_ = stamp;
    const bool storm = storm_.count(stamp, count);
    return storm || stamp >= busy_since_ + within(stamp, limits_->busy);
}

bool Readability::changed(Instant at) noexcept {
    const std::size_t most = on_trial(at) ? limits_->trial_changes : limits_->changes;
    const std::size_t room = changes_.size();
    // The one before as many as there may be, if that has been.
    const Instant before = changes_[(next_change_ + room - std::min(most, room)) % room];
    const bool too_many =
        known_changes_ >= most && before > at - within(at, limits_->changes_within);
    changes_[next_change_] = at;
    next_change_ = (next_change_ + 1) % room;
    known_changes_ = std::min(known_changes_ + 1, room);
    return too_many;
}

Instant Readability::patience_ends(Instant since) const noexcept {
    if (since == never) {
        return never;
    }
    const Instant sooner = since + trial_patience_;
    return on_trial(sooner) ? sooner : since + limits_->unsettled;
}

Duration Readability::within(Instant at, Duration usual) const noexcept {
    return on_trial(at) ? trial_patience_ : usual;
}

}  // namespace nightlatch::core
