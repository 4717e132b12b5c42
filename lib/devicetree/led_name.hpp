// SPDX-License-Identifier: MIT
#pragma once

#include "devicetree/tree.hpp"

namespace nightlatch::devicetree {

/// What the kernel calls the LED of a node in /sys/class/leds, unless another has the name already
/// [linux drivers/leds/led-core.c, led_compose_name].
std::string led_name(const Tree& tree, NodeId node);

}  // namespace nightlatch::devicetree
