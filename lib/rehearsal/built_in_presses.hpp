// SPDX-License-Identifier: MIT
#pragma once

#include "config/settings.hpp"
#include "rehearsal/press_script.hpp"

namespace nightlatch::rehearsal {

/// What a person who tries a unit would do with the button, made for this configuration: a tap, a
/// hold let go just too early, one for each stage, a call-off where there is a countdown, a button
/// that sticks, a chip that vanishes in the middle of a hold. After each action that takes the
/// board down it is switched on again by the same button.
PressScript built_in_presses(const config::Settings& settings);

}  // namespace nightlatch::rehearsal
