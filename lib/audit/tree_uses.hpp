// SPDX-License-Identifier: MIT
#pragma once

#include "devicetree/inventory.hpp"
#include "lines/suits.hpp"

#include <vector>

namespace nightlatch::audit {

/// What the tree's enabled nodes want lines for, with the paths of both ends.
std::vector<lines::TreeUse> tree_uses(const devicetree::Tree& tree,
                                      const devicetree::Inventory& inventory);

}  // namespace nightlatch::audit
