// SPDX-License-Identifier: MIT
#pragma once

#include "picture/diagram_lane.hpp"

namespace nightlatch::picture::svg {

/// Everything that happened but the author's remarks: a stroke on the lane's ground line for each
/// moment, the texts above.
Lane event_lane(const Plot& plot, unsigned strip);

/// Which shapes mean what, of those that occur; its upper edge is at y = 0.
struct Legend {
    Svg body;
    double height = 0;
};

Legend shape_legend(const Plot& plot);

}  // namespace nightlatch::picture::svg
