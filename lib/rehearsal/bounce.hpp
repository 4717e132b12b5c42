// SPDX-License-Identifier: MIT
#pragma once

#include "base/level.hpp"
#include "base/result.hpp"
#include "base/time.hpp"
#include "config/reader.hpp"
#include "rehearsal/press_script.hpp"

#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace nightlatch::rehearsal {

/// How contacts bounce after an edge, in pairs: how long they stay at the new level, how long they
/// drop back. An even number of durations, each > 0, so that they end at the new level.
using Bounce = std::vector<Duration>;

constexpr std::size_t most_script_events = 200'000;

/// Reads "5 x 1 ms": five pairs of 1 ms and 1 ms; at most 20,000. Otherwise what is allowed.
Result<Bounce, std::string> parse_bounce(std::string_view text);

/// The key `bounce` of a press, pressing and releasing: "5 x 1 ms" or a list of pairs each. Empty
/// where nothing is said, or what is said is wrong.
std::pair<Bounce, Bounce> read_bounces(const config::Section& press, config::Reader& reader);

/// From the edge to the level's settling.
Duration length_of(const Bounce& bounce);

/// Adds the edge to `level` at `at`, and one more edge after each duration.
void add_edge(std::vector<ScriptEvent>& events, Duration at, Level level, const Bounce& bounce);

}  // namespace nightlatch::rehearsal
