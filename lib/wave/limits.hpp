// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"

#include <chrono>
#include <cstddef>

namespace nightlatch::wave {

/// What a capture may have at most; more is a mistake in the choice of the signal or in the unit of
/// the time, and is refused.
constexpr std::size_t most_captured_edges = 10'000'000;
constexpr Duration longest_capture = std::chrono::hours(24 * 366);

}  // namespace nightlatch::wave
