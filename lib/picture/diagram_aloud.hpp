// SPDX-License-Identifier: MIT
#pragma once

#include "picture/diagram.hpp"

#include <string>

namespace nightlatch::picture::svg {

/// What a person who does not see the picture is told: the presses, what the lamps and buzzers did,
/// and the events, in order of time. `timeline` is in order.
std::string read_aloud(const wave::Timeline& timeline, const DiagramTitle& title);

}  // namespace nightlatch::picture::svg
