// SPDX-License-Identifier: MIT
#pragma once

#include "picture/diagram_lane.hpp"

namespace nightlatch::picture::svg {

/// Each hold as a wedge that climbs one step for every stage, reaching the step when the stage is
/// reached; the stages' names and hold times stand above where that is, and the length at the end.
Lane hold_lane(const Plot& plot, unsigned strip);

/// How far up the steps a hold of this length is: 0 at its begin, k when stage number k (from 1) is
/// reached, in between in proportion to the time. A half when there are no stages.
double steps_climbed(const std::vector<wave::Threshold>& stages, Duration held) noexcept;

}  // namespace nightlatch::picture::svg
