// SPDX-License-Identifier: MIT
#pragma once

#include "audit/power_off_handlers.hpp"
#include "devicetree/inventory.hpp"

#include <string>
#include <vector>

/// Who switches this board off, in the kernel's order. The kernel shows no such list: it is
/// inferred from the tree, from which drivers are bound, and from what is known of the sources.
namespace nightlatch::audit {

struct Scene;

/// As seen from the post-halt line.
enum class Turn : unsigned char {
    before,
    beside,  ///< whichever driver was registered first
    ours,
    after,
    unknown,
    never,  ///< the node is there, and takes no part
};

std::string_view text_of(Turn turn) noexcept;

struct WayOff {
    std::string what;   ///< "the power chip \"x-powers,axp209\""
    std::string place;  ///< a node's path, or /sys/firmware/efi
    devicetree::NodeId node = devicetree::no_node;
    Turn turn = Turn::unknown;
    Standing standing;     ///< of no use when the turn is unknown
    bool between = false;  ///< the kernel is between those read, and they differ
    bool early = false;    ///< registered by the kernel's own start-up
    std::string inferred;  ///< "in the device tree, and the driver axp20x-i2c is bound to it"
    std::string source;    ///< in Linux; empty when there is none
};

/// In the order in which the kernel calls them; then those of unknown place, and those that take no
/// part.
std::vector<WayOff> ways_off(const Scene& scene);

/// The nodes that any of them may be inferred from, and those whose properties they ask for.
std::vector<devicetree::NodeId> nodes_of_ways_off(const devicetree::Tree& tree,
                                                  const devicetree::Inventory& inventory);

/// What could be among them and cannot be seen from here.
std::string what_could_hide(const Scene& scene);

/// "priority 225", "the one slot".
std::string text_of(const Standing& standing);

/// From Linux 6.7 on the post-halt driver stands in the chain [linux
/// drivers/power/reset/gpio-poweroff.c]; what is not known is taken for a newer one.
bool chain_has_post_halt(const Scene& scene);

/// The first that acts when the post-halt driver has given up; null when nothing does.
const WayOff* what_follows(const std::vector<WayOff>& ways);

}  // namespace nightlatch::audit
