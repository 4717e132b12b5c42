// SPDX-License-Identifier: MIT
#pragma once

#include "picture/diagram_lane.hpp"

namespace nightlatch::picture::svg {

/// What a lamp or a buzzer really does: up is on. A blink too fast to be drawn is hatched; every
/// look but "off" is told in words where it begins.
Lane output_lane(const Plot& plot, unsigned strip, const wave::Output& output);

/// When the output is on and when off in `seen`, which begins not before the first look. What
/// blinks with a period shorter than `finest` counts as off.
std::vector<wave::LevelChange> levels_in(const wave::Output& output, Span seen, Duration finest);

}  // namespace nightlatch::picture::svg
