// SPDX-License-Identifier: MIT
#pragma once

#include "devicetree/inventory.hpp"

/// Trees and inventories as lines of text, by paths: what is the same in two trees is the same
/// text.
namespace nightlatch::test {

/// A line for each thing of the inventory, in its order.
std::vector<std::string> lines_of(const devicetree::Tree& tree,
                                  const devicetree::Inventory& inventory);

/// Every node and every property with its value, sorted.
std::vector<std::string> lines_of(const devicetree::Tree& tree);

}  // namespace nightlatch::test
