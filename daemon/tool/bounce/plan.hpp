// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/tool/bounce/run.hpp"
#include "daemon/tool/bounce/sources.hpp"
#include "daemon/tool/lines/watch.hpp"
#include "wave/timeline.hpp"

#include <optional>

/// What a person's words come to on a line.
namespace nightlatch::tool {

/// The line's name and the bias, as for `lines --watch`: the person's word before the
/// configuration's, and no bias unasked.
WatchOptions as_watched(const BounceOptions& options, const std::optional<BounceConfig>& config);

/// The line that was named, as choose_lines(); one that the service holds has a way out of its own.
Result<PickedLine, Refusal> choose_bounce_line(const LinesFacts& facts, const WatchOptions& watch);

BounceTarget line_target(const BounceOptions& options,
                         const std::optional<BounceConfig>& config,
                         const std::string& name,
                         lines::Bias bias);

BouncePlan plan_of(const BounceOptions& options, const BounceTarget& target);

/// The recording, as the levels that were measured: active is pressed. It begins when presses began
/// to count.
wave::Timeline timeline_of(const Bouncing& bouncing);

}  // namespace nightlatch::tool
