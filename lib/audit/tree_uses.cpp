// SPDX-License-Identifier: MIT
#include "audit/tree_uses.hpp"

namespace nightlatch::audit {

using lines::TreeUse;
using lines::TreeUseKind;

std::vector<TreeUse> tree_uses(const devicetree::Tree& tree,
                               const devicetree::Inventory& inventory) {
    std::vector<TreeUse> uses;
    const auto add = [&](TreeUseKind kind, const auto& user, const devicetree::GpioLine& line) {
        if (user.enabled && line.controller != devicetree::no_node) {
            uses.push_back(
                {kind, tree.path_of(line.controller), line.offset, tree.path_of(user.node)});
        }
    };
    for (const devicetree::PostHaltNode& node : inventory.post_halt) {
        if (node.line) {
            add(TreeUseKind::post_halt, node, *node.line);
        }
    }
    for (const devicetree::Key& key : inventory.keys) {
        add(TreeUseKind::key, key, key.line.value_or(devicetree::GpioLine{}));
    }
    for (const devicetree::Led& led : inventory.leds) {
        add(TreeUseKind::led, led, led.line.value_or(devicetree::GpioLine{}));
    }
    for (const devicetree::Hog& hog : inventory.hogs) {
        for (const devicetree::GpioLine& line : hog.lines) {
            add(TreeUseKind::hog, hog, line);
        }
    }
    for (const devicetree::OtherUse& use : inventory.others) {
        const std::size_t before = uses.size();
        add(TreeUseKind::other, use, use.line);
        if (uses.size() > before) {
            uses.back().by += " (" + use.property + ")";
        }
    }
    return uses;
}

}  // namespace nightlatch::audit
