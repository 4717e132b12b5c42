// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"
#include "core/input.hpp"
#include "core/settings.hpp"

#include <cstdint>
#include <variant>

namespace nightlatch::core {

constexpr std::uint32_t no_index = UINT32_MAX;

/// Ask the login manager. Answered by Answer; nothing further is asked until this one has failed.
struct Ask {
    Instant at;  ///< when it was decided
    Action action = Action::power_off;
    Inhibitors inhibitors = Inhibitors::respect;
    std::uint32_t stage = no_index;  ///< index into Settings::stages, or no_index
    std::uint32_t alarm = no_index;  ///< index into Settings::alarms, or no_index
    Duration held{};                 ///< how long the press lasted; 0 for an alarm
};

/// Tell those who follow that a stage of action `announce` was reached and let go.
struct Publish {
    Instant at;
    std::uint32_t stage = no_index;
    std::uint32_t alarm = no_index;
    Duration held{};
};

/// Open the button line (again), then feed Resync or LineGone.
struct OpenLine {};

/// Let the button line go: it floats.
struct CloseLine {};

/// Run the Resync procedure on the open line: what we hold of it cannot be true.
struct RunResync {
    ResyncWhy why;
};

/// Look at the post-halt line and feed VerdictKnown: what is decided next may be a power-off. A
/// look takes a while, so show the cue first. Provisional, as cues are: one not taken by the time
/// that there is nothing to decide any more is withdrawn.
struct LookAtPostHalt {};

/// Hold the delay inhibitor for shutdown, or let it go.
struct DelayLock {
    bool hold = true;
};

using ActionOut =
    std::variant<Ask, Publish, OpenLine, CloseLine, RunResync, LookAtPostHalt, DelayLock>;

}  // namespace nightlatch::core
