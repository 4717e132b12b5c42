// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"

#include <cstdint>

/// The published constants: what people are promised about a press, a line and a request. Whatever
/// names one of them, a sentence too, takes it from here.
namespace nightlatch::core::limits {

using namespace std::chrono_literals;

// Calling a countdown off: a press that is still down so long after the release, and has lasted.
constexpr Duration call_off_pause = 500ms;  ///< before, it may be release bounce
constexpr Duration call_off_hold = 100ms;   ///< shorter is a slip

// Acting on the threshold: added to the hold, so that a release that the kernel has stamped but not
// yet queued is read first.
constexpr Duration guard = 5ms;
constexpr Duration sleeping_guard = 50ms;  ///< on a chip that sleeps (behind I2C, SPI)

// A line that cannot be read: floating, or disturbed.
constexpr Duration unsettled = 10s;       ///< neither level has held for its interval
constexpr std::uint32_t changes = 100;    ///< more changes of the settled level than so many ...
constexpr Duration changes_within = 10s;  ///< ... within so long
constexpr Duration busy = 10s;            ///< for so long ...
constexpr Duration busy_pause = 100ms;    ///< ... never without an edge for so long
constexpr std::uint64_t storm_edges = 2'000;  ///< more edges than so many in each of ...
constexpr int storm_seconds = 2;              ///< ... so many whole seconds, one after the other

// After the line was opened again, until it has been readable for so long, stricter limits hold:
constexpr Duration trial = 60s;
constexpr Duration trial_patience = 1s;      ///< for each 10 s, or ...
constexpr int trial_intervals = 4;           ///< ... so many times the longer interval, if longer
constexpr std::uint32_t trial_changes = 10;  ///< for the 100

// A line that is gone is tried again after the first, doubled each time, up to the longest.
constexpr Duration first_back_off = 1s;
constexpr Duration longest_back_off = 60s;

// Reading the level before a deadline.
constexpr Duration read_again = 5ms;               ///< after a read that contradicts or fails
constexpr Duration contradiction_patience = 50ms;  ///< an edge behind a slow bus is here by then
constexpr Duration failure_patience = 50ms;  ///< reads that fail for so long: the line is gone

// A request, and a shutdown.
constexpr Duration patience =
    30s;  ///< unsent: withdrawn; unanswered: told; accepted: led to nothing
constexpr Duration answer_patience = 2min;  ///< unanswered since it was asked: a new press may ask
constexpr Duration unanswered_least = 30s;  ///< but stays unanswered so long at least
/// Taken up by the second route, which has nobody to ask. We are stopped after every service, whose
/// time-outs are 90 s each [systemd-system.conf(5), DefaultTimeoutStopSec].
constexpr Duration route_patience = 5min;
constexpr Duration preparing_patience = 5s;  ///< for whether a shutdown is being prepared
constexpr Duration preparing_again = 30s;    ///< while one is, it is asked for so often
/// Longer than that no shutdown takes [systemd poweroff.target, JobTimeoutSec].
constexpr Duration longest_shutdown = 30min;
constexpr Duration refusal_shown = 5s;
constexpr Duration dry_shown = 5s;  ///< how long a dry run shows that the machine would go down

}  // namespace nightlatch::core::limits

namespace nightlatch::core {

/// Those that the core goes by, so that a test can scale them. Nobody else changes any.
struct Limits {
    Duration call_off_pause = limits::call_off_pause;
    Duration call_off_hold = limits::call_off_hold;
    Duration guard = limits::guard;
    Duration sleeping_guard = limits::sleeping_guard;
    Duration unsettled = limits::unsettled;
    std::uint32_t changes = limits::changes;  ///< at most limits::changes
    Duration changes_within = limits::changes_within;
    Duration busy = limits::busy;
    Duration busy_pause = limits::busy_pause;
    Duration trial = limits::trial;
    Duration trial_patience = limits::trial_patience;
    int trial_intervals = limits::trial_intervals;
    std::uint32_t trial_changes = limits::trial_changes;
    Duration first_back_off = limits::first_back_off;
    Duration longest_back_off = limits::longest_back_off;
    Duration read_again = limits::read_again;
    Duration contradiction_patience = limits::contradiction_patience;
    Duration patience = limits::patience;
    Duration answer_patience = limits::answer_patience;
    Duration unanswered_least = limits::unanswered_least;
    Duration route_patience = limits::route_patience;
    Duration preparing_patience = limits::preparing_patience;
    Duration preparing_again = limits::preparing_again;
    Duration longest_shutdown = limits::longest_shutdown;
    Duration refusal_shown = limits::refusal_shown;
    Duration dry_shown = limits::dry_shown;

    bool operator==(const Limits&) const = default;
};

inline constexpr Limits published_limits{};

}  // namespace nightlatch::core
