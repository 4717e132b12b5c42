// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

/// A device tree in memory [Devicetree Specification 0.4, https://www.devicetree.org]. Where it
/// came from, the running kernel's directory or a blob, cannot be told by looking at it.
namespace nightlatch::devicetree {

/// A node's place in its tree: the root is 0, a parent comes before its children.
using NodeId = std::uint32_t;
inline constexpr NodeId root = 0;
inline constexpr NodeId no_node = UINT32_MAX;

struct Property {
    std::string name;
    std::string value;  ///< raw: big-endian cells, or strings that each end with a NUL
};

struct Node {
    std::string name;  ///< with its unit address: "gpio@fe200000"; empty for the root
    NodeId parent = no_node;
    std::vector<Property> properties;  ///< in the order they came in
};

/// What hostile or broken input may ask of us at most. Real trees: some 5,000 nodes, 10 deep,
/// half a megabyte; arm64 kernels take blobs of 2 MiB [linux arch/arm64/include/asm/boot.h,
/// MAX_FDT_SIZE].
struct Limits {
    std::size_t depth = 64;  ///< the kernel's own [linux drivers/of/fdt.c, FDT_MAX_DEPTH]
    std::size_t nodes = 65'536;
    std::size_t properties = 262'144;
    std::size_t bytes = std::size_t{4} << 20U;  ///< of all names and values
};

class Tree {
public:
    [[nodiscard]] std::size_t size() const noexcept { return nodes_.size(); }

    [[nodiscard]] const Node& node(NodeId id) const { return nodes_.at(id); }

    /// "/soc/gpio@7e200000"; "/" for the root.
    [[nodiscard]] std::string path_of(NodeId id) const;

    /// By a full path from the root; no_node when there is none.
    [[nodiscard]] NodeId find(std::string_view path) const;

    /// By `phandle`, or the older `linux,phandle`; of several with the same one the first.
    [[nodiscard]] NodeId by_phandle(std::uint32_t phandle) const;

    /// Null when the node has no such property; an empty value is a property that is there.
    [[nodiscard]] const std::string* value(NodeId id, std::string_view name) const;

private:
    friend class Builder;
    std::vector<Node> nodes_;
    std::unordered_map<std::uint32_t, NodeId> phandles_;
    /// Of nodes with so many properties that looking through all of them would take too long:
    /// their places, by name.
    std::unordered_map<NodeId, std::vector<std::size_t>> by_name_;
};

/// Makes a tree from what a front end meets, in depth-first order. Each call fails with a sentence
/// when a limit is passed or the order makes no tree; the first failure stays.
class Builder {
public:
    explicit Builder(Limits limits = {}) : limits_(limits) {}

    /// Into a child of the current node; the first one is the root, whose name is dropped.
    Outcome enter(std::string_view name);
    /// Of the current node. A name that it already has replaces the value.
    Outcome property(std::string_view name, std::string_view value);
    Outcome leave();

    /// The tree, when every node that was entered has been left.
    Result<Tree> finish();

private:
    Outcome fail(std::string text);

    Limits limits_;
    Tree tree_;
    std::vector<NodeId> open_;
    std::size_t properties_ = 0;
    std::size_t bytes_ = 0;
    std::string failure_;
};

}  // namespace nightlatch::devicetree
