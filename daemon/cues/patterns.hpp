// SPDX-License-Identifier: MIT
#pragma once

#include "core/cue.hpp"
#include "core/pattern.hpp"

#include <array>

namespace nightlatch::cues {

/// By CueName; a cue not listed in the configuration is off.
using Patterns = std::array<core::Pattern, core::cue_count>;

inline const core::Pattern& pattern_for(const Patterns& patterns, const core::Cue& cue) {
    return patterns[static_cast<std::size_t>(cue.name)];
}

}  // namespace nightlatch::cues
