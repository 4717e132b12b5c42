// SPDX-License-Identifier: MIT
#pragma once

#include "picture/diagram_levels.hpp"

namespace nightlatch::picture::svg {

/// The bursts that have a letter, each on a scale of its own, which its panel tells. The lane has
/// no name.
Lane close_ups(const Plot& plot, std::span<const Burst> bursts);

}  // namespace nightlatch::picture::svg
