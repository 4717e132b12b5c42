// SPDX-License-Identifier: MIT
#include "audit/post_halt_part.hpp"

#include "audit/scene.hpp"
#include "audit/ways_off.hpp"
#include "devicetree/pads.hpp"
#include "devicetree/part.hpp"
#include "devicetree/values.hpp"

#include <algorithm>
#include <iterator>

namespace nightlatch::audit {
namespace {

using devicetree::GpioLine;
using devicetree::Inventory;
using devicetree::NodeId;
using devicetree::Tree;

using Wanted = std::vector<bool>;

std::vector<GpioLine> post_halt_lines(const Inventory& inventory) {
    std::vector<GpioLine> lines;
    for (const devicetree::PostHaltNode& node : inventory.post_halt) {
        if (node.line) {
            lines.push_back(*node.line);
        }
    }
    return lines;
}

bool is_one_of(const std::vector<GpioLine>& lines, const GpioLine& line) {
    return std::any_of(
        lines.begin(), lines.end(), [&](const GpioLine& one) { return one.same_line(line); });
}

/// Who else names one of the lines.
void want_claims(const Inventory& inventory, Wanted& wanted) {
    const std::vector<GpioLine> lines = post_halt_lines(inventory);
    const auto want = [&](NodeId node, const auto& line) {
        wanted[node] = wanted[node] || (line && is_one_of(lines, *line));
    };
    for (const devicetree::Key& key : inventory.keys) {
        want(key.node, key.line);
    }
    for (const devicetree::Led& led : inventory.leds) {
        want(led.node, led.line);
    }
    for (const devicetree::Hog& hog : inventory.hogs) {
        for (const GpioLine& line : hog.lines) {
            want(hog.node, &line);
        }
    }
    for (const devicetree::OtherUse& use : inventory.others) {
        want(use.node, &use.line);
    }
}

/// What a line that cannot be resolved points at decides what is said of it.
void want_target(const Tree& tree, NodeId node, Wanted& wanted) {
    for (const char* const property : {"gpios", "gpio"}) {
        const std::string* const value = tree.value(node, property);
        const auto cells = value == nullptr ? std::nullopt : devicetree::cells_of(*value);
        const NodeId target =
            cells && !cells->empty() ? tree.by_phandle(cells->front()) : devicetree::no_node;
        if (target != devicetree::no_node) {
            wanted[target] = true;
        }
    }
}

/// Who sets the pad of one of the lines.
void want_pads(const Tree& tree, const Inventory& inventory, Wanted& wanted) {
    for (const GpioLine& line : post_halt_lines(inventory)) {
        for (const NodeId node : devicetree::nodes_behind(tree, devicetree::pad_of(tree, line))) {
            wanted[node] = true;
        }
    }
}

}  // namespace

Tree post_halt_part(const Tree& tree) {
    const Inventory inventory = devicetree::take_inventory(tree);
    Wanted wanted(tree.size(), false);
    for (const devicetree::Controller& controller : inventory.controllers) {
        wanted[controller.node] = true;
    }
    for (const devicetree::PostHaltNode& node : inventory.post_halt) {
        wanted[node.node] = true;
        want_target(tree, node.node, wanted);
    }
    want_claims(inventory, wanted);
    want_pads(tree, inventory, wanted);
    for (const NodeId node : nodes_of_ways_off(tree, inventory)) {
        wanted[node] = true;
    }
    return devicetree::part_of(tree, std::move(wanted));
}

std::string post_halt_device(const Facts& facts) {
    const Scene scene = make_scene(facts);
    if (scene.node == nullptr || !scene.node->line || !facts.chips) {
        return "";
    }
    const std::string controller = scene.tree->path_of(scene.node->line->controller);
    const auto is_it = [&](const lines::Chip& chip) { return chip.node == controller; };
    const auto end = facts.chips->end();
    const auto found = std::find_if(facts.chips->begin(), end, is_it);
    const bool only_one = found != end && std::none_of(std::next(found), end, is_it);
    return only_one ? found->path : "";
}

}  // namespace nightlatch::audit
