// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"

#include <cstdint>

/// The published constants: what people are promised about a press, a line and a request. Whatever
/// names one of them, a sentence too, takes it from here.
namespace nightlatch::core::limits {

using namespace std::chrono_literals;

// Calling a countdown off.
constexpr Duration call_off_pause = 500ms;  ///< a press sooner after the release is a stray one
constexpr Duration call_off_hold = 100ms;   ///< a press has to last as long

// Acting on the threshold: added to the hold, so that a release that the kernel has stamped but not
// yet queued is read first.
constexpr Duration guard = 5ms;
constexpr Duration sleeping_guard = 50ms;  ///< on a chip that sleeps (behind I2C, SPI)

// A floating line: more than so many edges in each of so many whole seconds, one after the other.
constexpr std::uint64_t storm_edges = 2'000;
constexpr int storm_seconds = 2;

/// An unsettled episode is void after this, or after so many times the longer debounce interval.
constexpr Duration longest_episode = 1s;
constexpr int episode_intervals = 4;

// A line that is gone is tried again after the first, doubled each time, up to the longest.
constexpr Duration first_back_off = 1s;
constexpr Duration longest_back_off = 60s;

// Reading the level before a deadline.
constexpr Duration read_again = 5ms;               ///< after a read that contradicts or fails
constexpr Duration contradiction_patience = 50ms;  ///< an edge behind a slow bus is here by then
constexpr Duration failure_patience = 50ms;  ///< reads that fail for so long: the line is gone

// A request.
constexpr Duration patience = 30s;  ///< without an answer: unanswered
constexpr Duration refusal_shown = 5s;

}  // namespace nightlatch::core::limits
