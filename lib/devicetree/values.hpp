// SPDX-License-Identifier: MIT
#pragma once

#include "devicetree/tree.hpp"

#include <optional>

/// Reading of property values. A value of the wrong size or form reads as "not there": nothing is
/// guessed from half a cell.
namespace nightlatch::devicetree {

/// The big-endian 32-bit cells of a value; nothing when its length is not a multiple of 4.
std::optional<std::vector<std::uint32_t>> cells_of(std::string_view value);

/// The strings of a value; empty when it does not end with a NUL.
std::vector<std::string> strings_of(std::string_view value);

/// A number as unit addresses and cells are written: small hexadecimal digits, without a prefix.
std::string hex(std::uint64_t number);

/// A property of exactly one cell.
std::optional<std::uint32_t> cell(const Tree& tree, NodeId node, std::string_view name);

/// The first string of a property.
std::optional<std::string> text(const Tree& tree, NodeId node, std::string_view name);

bool has(const Tree& tree, NodeId node, std::string_view name);

/// Does `compatible` list this very string?
bool is_compatible(const Tree& tree, NodeId node, std::string_view compatible);

/// `status` of the node itself: absent, "okay" or "ok" [linux drivers/of/base.c,
/// __of_device_is_available].
bool is_okay(const Tree& tree, NodeId node);

/// The node and everything above it is_okay(): the kernel makes no device below a disabled node.
bool is_enabled(const Tree& tree, NodeId node);

}  // namespace nightlatch::devicetree
