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
    Instant at;                ///< when it was decided
    std::uint32_t number = 0;  ///< counts up from 1
    Action action = Action::power_off;
    Inhibitors inhibitors = Inhibitors::respect;
    std::uint32_t stage = no_index;  ///< index into Settings::stages, or no_index
    std::uint32_t alarm = no_index;  ///< index into Settings::alarms, or no_index
    Duration held{};                 ///< how long the press lasted; 0 for an alarm
};

/// Do not send this one, if that has not happened yet: it is over.
struct Withdraw {
    std::uint32_t number = 0;
};

/// Ask whether a shutdown is being prepared, and feed Preparing. An earlier question is void.
struct AskPreparing {
    std::uint32_t question = 0;
};

/// The answer to CallOff.
struct CalledOff {
    bool done = false;  ///< there was something to call off
};

/// Tell those who follow that a stage of action `announce` was reached and let go.
struct Publish {
    Instant at;
    std::uint32_t stage = no_index;
    std::uint32_t alarm = no_index;
    Duration held{};
};

/// Open this line (again), then feed Resync or LineGone.
struct OpenLine {
    LineIndex line = button_line;
};

/// Let this line go: it cannot be read.
struct CloseLine {
    LineIndex line = button_line;
};

/// Run the Resync procedure on the open line: what we hold of it cannot be true.
struct RunResync {
    ResyncWhy why;
    LineIndex line = button_line;
};

/// Remember of this alarm, until the board is switched off: its level was there when it was first
/// looked at in this boot, and is ignored; or is not.
struct KeepAlarm {
    std::uint32_t alarm = no_index;
    bool ignored = false;
};

/// Look at the post-halt line and feed VerdictKnown: what is decided next may be a power-off. A
/// look takes a while, so show the cue first. Provisional, as cues are: one not taken by the time
/// that there is nothing to decide any more is withdrawn.
struct LookAtPostHalt {};

/// Hold the delay inhibitor for shutdown, or let it go.
struct DelayLock {
    bool hold = true;
};

using ActionOut = std::variant<Ask,
                               Withdraw,
                               AskPreparing,
                               CalledOff,
                               Publish,
                               OpenLine,
                               CloseLine,
                               RunResync,
                               KeepAlarm,
                               LookAtPostHalt,
                               DelayLock>;

}  // namespace nightlatch::core
