// SPDX-License-Identifier: MIT
#pragma once

#include "picture/diagram_lane.hpp"

#include <vector>

namespace nightlatch::picture::svg {

struct Tick {
    Duration at{};
    double x = 0;
    std::string text;  ///< empty for one between those that have a text
};

/// Ticks at round times, the same for every piece of a strip; no two texts meet.
std::vector<Tick> ticks_of(const Plot& plot, unsigned strip);

Lane axis_lane(const Plot& plot, unsigned strip, const std::vector<Tick>& ticks);

}  // namespace nightlatch::picture::svg
