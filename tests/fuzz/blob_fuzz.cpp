// SPDX-License-Identifier: MIT
// The input is a blob; what follows after the size that its header claims is an overlay for it.
#include "base/text.hpp"
#include "devicetree/blob.hpp"
#include "devicetree/inventory.hpp"
#include "fuzz/fuzz.hpp"

#include <algorithm>
#include <cstdint>
#include <set>
#include <utility>

using namespace nightlatch;
using namespace nightlatch::devicetree;

namespace {

/// Small, so that the limits are met too.
constexpr Limits small{8, 200, 1'000, 16'384};

/// The deepest node and the bytes of all names and values.
std::string broken_limits(const Tree& tree) {
    std::size_t properties = 0;
    std::size_t bytes = 0;
    std::vector<std::size_t> depths(tree.size(), 0);
    for (NodeId id = 0; id < tree.size(); ++id) {
        const Node& node = tree.node(id);
        if ((id == root) != (node.parent == no_node) || (id != root && node.parent >= id)) {
            return "a parent comes before its children";
        }
        depths[id] = id == root ? 1 : depths[node.parent] + 1;
        bytes += node.name.size();
        properties += node.properties.size();
        for (const Property& one : node.properties) {
            bytes += one.name.size() + one.value.size();
        }
    }
    const bool kept = tree.size() >= 1 && tree.size() <= small.nodes &&
                      properties <= small.properties && bytes <= small.bytes &&
                      *std::max_element(depths.begin(), depths.end()) <= small.depth;
    return kept ? "" : "a tree stays within its limits";
}

/// Of siblings with one name, which dtc refuses and a kernel shows with a number, the first hides
/// the others and what is below them.
std::string broken_paths(const Tree& tree) {
    std::set<std::pair<NodeId, std::string_view>> taken;
    std::vector<bool> hidden(tree.size(), false);
    for (NodeId id = 0; id < tree.size(); ++id) {
        const Node& node = tree.node(id);
        if (id != root) {
            hidden[id] = hidden[node.parent] || !taken.emplace(node.parent, node.name).second;
        }
        const std::string path = tree.path_of(id);
        if ((tree.find(path) == id) == hidden[id]) {
            return "a node is found by its path: " + path;
        }
    }
    return {};
}

std::string broken(const Inventory& inventory, const Tree& tree) {
    for (const Controller& one : inventory.controllers) {
        if (one.node >= tree.size()) {
            return "what is listed is a node of the tree";
        }
    }
    for (const PostHaltNode& one : inventory.post_halt) {
        if (one.node >= tree.size()) {
            return "a post-halt node is one of the tree";
        }
    }
    for (const Key& one : inventory.keys) {
        if (one.node >= tree.size()) {
            return "a key is a node of the tree";
        }
    }
    return {};
}

bool is_sentence(std::string_view text) {
    return !text.empty() && text.size() <= 1'000 && is_safe(text);
}

void check_tree(std::string_view blob) {
    const auto tree = read_blob(blob, small);
    if (!tree) {
        test::expect_kept(is_sentence(tree.error().text) ? ""
                                                         : "a failure is a printable sentence");
        return;
    }
    test::expect_kept(broken_limits(*tree));
    test::expect_kept(broken_paths(*tree));
    test::expect_kept(broken(take_inventory(*tree), *tree));
}

/// totalsize of the header [Devicetree Specification, section 5.2], within the input.
std::size_t claimed_size(std::string_view blob) {
    if (blob.size() < 8) {
        return blob.size();
    }
    std::size_t size = 0;
    for (std::size_t i = 4; i < 8; ++i) {
        size = size << 8U | static_cast<unsigned char>(blob[i]);
    }
    return std::min(size, blob.size());
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string_view input(reinterpret_cast<const char*>(data), size);
    const std::size_t base = claimed_size(input);
    check_tree(input.substr(0, base));
    if (base < size) {
        const Overlay overlay{"overlay.dtbo", std::string(input.substr(base))};
        const auto applied = apply_overlays(input.substr(0, base), {&overlay, 1});
        if (applied) {
            check_tree(*applied);
        } else {
            test::expect_kept(
                is_sentence(applied.error().text) ? "" : "a failure is a printable sentence");
        }
    }
    return 0;
}
