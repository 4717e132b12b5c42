// SPDX-License-Identifier: MIT
#pragma once

#include "base/level.hpp"
#include "base/time.hpp"

namespace nightlatch::core {

enum class PatternKind : unsigned char { off, on, blink, pulse };

/// How one cue looks on a lamp or sounds on a buzzer. `blink` repeats on/off for as long as the cue
/// is shown, `pulse` plays once.
struct Pattern {
    PatternKind kind = PatternKind::off;
    Duration on{};   ///< > 0 for blink and pulse
    Duration off{};  ///< > 0 for blink; >= 0 for pulse

    bool operator==(const Pattern&) const = default;
};

struct PatternStep {
    Level level = Level::inactive;
    Instant until = never;  ///< when the level changes next; never if it does not
};

/// The level that a pattern begun at `since` has at `now` (now >= since).
PatternStep step_of(const Pattern& pattern, Instant since, Instant now) noexcept;

}  // namespace nightlatch::core
