// SPDX-License-Identifier: MIT
#pragma once

#include "devicetree/tree.hpp"

#include <vector>

namespace nightlatch::devicetree {

/// The tree without the nodes that are not `wanted` (by id; as many as the tree has). Whatever is
/// above one that is wanted stays, too; paths and phandles of those that stay mean the same.
Tree part_of(const Tree& tree, std::vector<bool> wanted);

}  // namespace nightlatch::devicetree
