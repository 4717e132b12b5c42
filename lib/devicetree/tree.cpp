// SPDX-License-Identifier: MIT
#include "devicetree/tree.hpp"

#include "devicetree/values.hpp"

#include <algorithm>
#include <numeric>
#include <utility>

namespace nightlatch::devicetree {
namespace {

/// The part of a path that fits into a sentence.
constexpr std::size_t shown_path = 120;

/// Neither 0 nor all ones is a phandle [linux include/linux/of.h, fdt.c: unflatten].
constexpr std::uint32_t no_phandle = UINT32_MAX;

/// Of a name: the kernel shows each as a file or directory.
constexpr std::size_t longest_name = 255;

/// Names stand in paths and on terminals: no '/', no blank, nothing that a terminal would obey. The
/// specification (2.2.1, 2.2.4.1) allows fewer characters still, and 31 of them, which real trees
/// exceed.
bool is_name(std::string_view name) {
    return !name.empty() && name.size() <= longest_name &&
           std::all_of(
               name.begin(), name.end(), [](char c) { return c > ' ' && c <= '~' && c != '/'; });
}

/// From this size on a node's properties are found by a sorted index.
constexpr std::size_t many_properties = 32;

/// The places of properties in the order of their names; equal names in the order they came in.
std::vector<std::size_t> places_by_name(const std::vector<Property>& properties) {
    std::vector<std::size_t> places(properties.size());
    std::iota(places.begin(), places.end(), std::size_t{0});
    std::stable_sort(places.begin(), places.end(), [&](std::size_t a, std::size_t b) {
        return properties[a].name < properties[b].name;
    });
    return places;
}

/// Each name once, at its first place with its last value. By sorting, because to look each one up
/// would let one node with all the properties there may be take minutes.
void drop_doubles(std::vector<Property>& properties) {
    const std::vector<std::size_t> places = places_by_name(properties);
    std::vector<bool> dropped(properties.size());
    std::size_t first = 0;
    for (std::size_t i = 1; i < places.size(); ++i) {
        if (properties[places[first]].name != properties[places[i]].name) {
            first = i;
            continue;
        }
        properties[places[first]].value = std::move(properties[places[i]].value);
        dropped[places[i]] = true;
    }
    std::vector<Property> kept;
    kept.reserve(properties.size());
    for (std::size_t i = 0; i < properties.size(); ++i) {
        if (!dropped[i]) {
            kept.push_back(std::move(properties[i]));
        }
    }
    properties = std::move(kept);
}

std::uint32_t phandle_of(const Tree& tree, NodeId id) {
    for (const std::string_view name : {"phandle", "linux,phandle"}) {
        if (const std::optional<std::uint32_t> phandle = cell(tree, id, name)) {
            return *phandle;
        }
    }
    return no_phandle;
}

}  // namespace

std::string Tree::path_of(NodeId id) const {
    std::vector<NodeId> way;
    for (NodeId at = id; at != root; at = node(at).parent) {
        way.push_back(at);
    }
    std::string path;
    for (auto at = way.rbegin(); at != way.rend(); ++at) {
        path += '/' + node(*at).name;
    }
    return path.empty() ? "/" : path;
}

NodeId Tree::find(std::string_view path) const {
    if (nodes_.empty() || !path.starts_with('/')) {
        return no_node;
    }
    NodeId at = root;
    path.remove_prefix(1);
    while (!path.empty()) {
        const std::string_view name = path.substr(0, path.find('/'));
        path.remove_prefix(std::min(path.size(), name.size() + 1));
        NodeId child = at + 1;
        while (child < nodes_.size() &&
               (nodes_[child].parent != at || nodes_[child].name != name)) {
            ++child;
        }
        if (child >= nodes_.size()) {
            return no_node;
        }
        at = child;
    }
    return at;
}

NodeId Tree::by_phandle(std::uint32_t phandle) const {
    const auto found = phandles_.find(phandle);
    return found == phandles_.end() ? no_node : found->second;
}

const std::string* Tree::value(NodeId id, std::string_view name) const {
    const std::vector<Property>& properties = node(id).properties;
    if (properties.size() > many_properties) {
        const std::vector<std::size_t>& places = by_name_.at(id);
        const auto found = std::lower_bound(
            places.begin(), places.end(), name, [&](std::size_t at, std::string_view wanted) {
                return properties[at].name < wanted;
            });
        const bool there = found != places.end() && properties[*found].name == name;
        return there ? &properties[*found].value : nullptr;
    }
    for (const Property& property : properties) {
        if (property.name == name) {
            return &property.value;
        }
    }
    return nullptr;
}

Outcome Builder::fail(std::string text) {
    if (failure_.empty()) {
        failure_ = std::move(text);
        if (!open_.empty()) {
            const std::string path = tree_.path_of(open_.back());
            failure_ +=
                ", at " + path.substr(0, shown_path) + (path.size() > shown_path ? "..." : "");
        }
    }
    return Unexpected{Error{Trouble::other, failure_}};
}

Outcome Builder::enter(std::string_view name) {
    if (!failure_.empty()) {
        return fail({});
    }
    const bool is_root = tree_.nodes_.empty();
    if (!is_root && open_.empty()) {
        return fail("the device tree has a second root");
    }
    if (!is_root && !is_name(name)) {
        return fail(
            "the device tree has a node whose name is empty, too long, or has '/', blanks or "
            "unprintable characters");
    }
    if (open_.size() >= limits_.depth) {
        return fail("the device tree is nested deeper than " + std::to_string(limits_.depth) +
                    " nodes");
    }
    if (tree_.nodes_.size() >= limits_.nodes) {
        return fail("the device tree has more than " + std::to_string(limits_.nodes) + " nodes");
    }
    bytes_ += is_root ? 0 : name.size();
    if (bytes_ > limits_.bytes) {
        return fail("the device tree has more than " + std::to_string(limits_.bytes) +
                    " bytes of names and values");
    }
    Node node;
    if (!is_root) {
        node.name = name;
        node.parent = open_.back();
    }
    open_.push_back(static_cast<NodeId>(tree_.nodes_.size()));
    tree_.nodes_.push_back(std::move(node));
    return std::monostate{};
}

Outcome Builder::property(std::string_view name, std::string_view value) {
    if (!failure_.empty()) {
        return fail({});
    }
    if (open_.empty()) {
        return fail("the device tree has a property outside of any node");
    }
    if (!is_name(name)) {
        return fail(
            "the device tree has a property whose name is empty, too long, or has '/', blanks or "
            "unprintable characters");
    }
    if (++properties_ > limits_.properties) {
        return fail("the device tree has more than " + std::to_string(limits_.properties) +
                    " properties");
    }
    // Not added up first: sizes near the end of the range must not wrap.
    const std::size_t left = limits_.bytes - bytes_;
    if (name.size() > left || value.size() > left - name.size()) {
        return fail("the device tree has more than " + std::to_string(limits_.bytes) +
                    " bytes of names and values");
    }
    bytes_ += name.size() + value.size();
    tree_.nodes_[open_.back()].properties.push_back({std::string(name), std::string(value)});
    return std::monostate{};
}

Outcome Builder::leave() {
    if (!failure_.empty()) {
        return fail({});
    }
    if (open_.empty()) {
        return fail("the device tree leaves a node that it never entered");
    }
    std::vector<Property>& properties = tree_.nodes_[open_.back()].properties;
    drop_doubles(properties);
    if (properties.size() > many_properties) {
        tree_.by_name_.emplace(open_.back(), places_by_name(properties));
    }
    open_.pop_back();
    return std::monostate{};
}

Result<Tree> Builder::finish() {
    if (!failure_.empty()) {
        return Unexpected{fail({}).error()};
    }
    if (tree_.nodes_.empty()) {
        return Unexpected{fail("the device tree has no node").error()};
    }
    if (!open_.empty()) {
        return Unexpected{fail("the device tree ends inside of a node").error()};
    }
    for (NodeId id = root; id < tree_.size(); ++id) {
        const std::uint32_t phandle = phandle_of(tree_, id);
        if (phandle != 0 && phandle != no_phandle) {
            tree_.phandles_.emplace(phandle, id);
        }
    }
    return std::move(tree_);
}

}  // namespace nightlatch::devicetree
