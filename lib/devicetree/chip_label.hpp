// SPDX-License-Identifier: MIT
#pragma once

#include "devicetree/tree.hpp"

#include <optional>
#include <string>
#include <vector>

/// What the kernel will make of a controller's node: its chip's label, and how many lines it has.
namespace nightlatch::devicetree {

/// The labels that the chip may have, the likeliest first; none for a controller whose driver takes
/// one that the tree does not tell.
std::vector<std::string> chip_labels(const Tree& tree, NodeId controller);

/// "fe200000.gpio": the name of a platform's device, by its address as the processor sees it [linux
/// drivers/of/platform.c, of_device_make_bus_id]. Nothing for a node without an address.
std::optional<std::string> device_name(const Tree& tree, NodeId node);

/// How many lines the controller has, as far as the tree says: `ngpios`, else where its
/// `gpio-ranges` end [bindings/gpio/gpio.txt].
std::optional<std::uint32_t> line_count(const Tree& tree, NodeId controller);

}  // namespace nightlatch::devicetree
