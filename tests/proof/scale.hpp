// SPDX-License-Identifier: MIT
#pragma once

#include "core/settings.hpp"

#include <string>
#include <vector>

namespace nightlatch::proof {

/// The press interval against the release interval.
enum class Intervals : unsigned char { equal, press_below_release, press_above_release };

/// A configuration as people have it, and the same in a few ticks.
struct Scaled {
    core::Settings real;
    core::Settings ticks;
};

Scaled scaled(
    Intervals intervals, bool countdown, std::size_t stages, core::ActOn act_on, bool alarm);

/// The same, but a line is trusted as soon as it is open again: for runs in which the trial
/// would only multiply what there is. Its order is not kept then.
Scaled without_trial(Scaled scaled);

/// What the scaling does not keep: the order of any two constants, and of each sum that the core
/// compares with what it compares it with. Empty when all is kept.
std::vector<std::string> not_kept(const Scaled& scaled);

}  // namespace nightlatch::proof
