// SPDX-License-Identifier: MIT
#pragma once

#include "base/level.hpp"
#include "base/time.hpp"

#include <algorithm>

namespace nightlatch::guard {

/// Whether a button has been let go: from (level, instant) pairs alone.
///
///   ______------|_|-|_________            any sample starts the interval again, an equal one too:
///                     <-----> released    two edges that merged look like one equal sample
class ReleaseWait {
public:
    enum class Verdict { wait, released, gave_up };

    /// `stable`: how long the line must read inactive, unbroken. `until`: when to give up.
    constexpr ReleaseWait(Duration stable, Instant until) noexcept
        : stable_(stable), until_(until) {}

    constexpr void sample(Instant at, Level level) noexcept {
        level_ = level;
        since_ = at;
    }

    [[nodiscard]] constexpr Level level() const noexcept { return level_; }

    [[nodiscard]] constexpr Verdict verdict(Instant now) const noexcept {
        if (level_ == Level::inactive && now - since_ >= stable_) {
            return Verdict::released;
        }
        return now >= until_ ? Verdict::gave_up : Verdict::wait;
    }

    /// When the verdict changes if no sample comes.
    [[nodiscard]] constexpr Instant deadline() const noexcept {
        return level_ == Level::inactive ? std::min(since_ + stable_, until_) : until_;
    }

private:
    Duration stable_;
    Instant until_;
    Level level_ = Level::active;  ///< until the first sample: not known to be released
    Instant since_{};
};

}  // namespace nightlatch::guard
