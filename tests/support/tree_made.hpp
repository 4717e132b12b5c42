// SPDX-License-Identifier: MIT
#pragma once

#include "devicetree/tree.hpp"

#include <initializer_list>
#include <utility>

/// Device trees for tests, written down as a list of nodes.
namespace nightlatch::test {

struct MadeNode {
    std::string path;  ///< "/soc/gpio@1000"; nodes on the way need not be listed
    std::vector<std::pair<std::string, std::string>> properties;
};

/// Nodes in depth-first order: what is below a node comes right after it. Aborts when it is no
/// tree.
devicetree::Tree made_tree(const std::vector<MadeNode>& nodes);

std::string cells(std::initializer_list<std::uint32_t> values);
std::string strings(std::initializer_list<std::string_view> texts);

/// The tree as a flattened blob of format version 17 [Devicetree Specification, chapter 5]; made
/// here, so that libfdt is tested with what it did not write.
std::string blob_of(const devicetree::Tree& tree);

}  // namespace nightlatch::test
