// SPDX-License-Identifier: MIT
#pragma once

#include "rehearsal/rehearsal.hpp"

#include <string>

namespace nightlatch::rehearsal {

/// What happened, in one sentence: "Pressed 4 times: "write now" is announced, and power-off is
/// asked for at 25.572 s and accepted."
std::string story_of(const Rehearsal& rehearsal);

}  // namespace nightlatch::rehearsal
