// SPDX-License-Identifier: MIT
#include "audit/ways_off.hpp"

#include "audit/scene.hpp"
#include "audit/turns.hpp"
#include "base/text.hpp"
#include "devicetree/values.hpp"

#include <algorithm>
#include <optional>
#include <set>
#include <tuple>

namespace nightlatch::audit {
namespace {

using devicetree::NodeId;
using devicetree::Tree;

constexpr const char* efi_folder = "/sys/firmware/efi";

const BoundDevice* bound_to(const Scene& scene, const std::string& path) {
    const Known<std::vector<BoundDevice>>& bound = scene.facts->power_off.bound;
    if (!bound) {
        return nullptr;
    }
    const auto it = std::find_if(
        bound->begin(), bound->end(), [&](const BoundDevice& one) { return one.node == path; });
    return it == bound->end() ? nullptr : &*it;
}

/// One of the words is a property of the node; "^" before it: of the node above.
bool has_one_of(const Tree& tree, NodeId node, std::string_view words) {
    while (!words.empty()) {
        const std::size_t end = std::min(words.find(' '), words.size());
        std::string_view word = words.substr(0, end);
        words.remove_prefix(std::min(end + 1, words.size()));
        const bool above = word.starts_with('^');
        word.remove_prefix(above ? 1 : 0);
        const NodeId at = above ? tree.node(node).parent : node;
        if (at != devicetree::no_node && devicetree::has(tree, at, word)) {
            return true;
        }
    }
    return false;
}

using Marked = std::set<NodeId>;

/// Those that say that they are system power controllers.
Marked marked_nodes(const devicetree::Inventory& inventory) {
    Marked marked;
    for (const devicetree::PowerController& one : inventory.power_controllers) {
        marked.insert(one.node);
    }
    return marked;
}

/// From what it was seen, and whether it takes part at all.
struct Presence {
    bool takes_part = false;
    std::string inferred;
};

Presence presence_of(const Scene& scene, const PowerOffHandler& row, NodeId node) {
    if (!row.asks_for.empty() && !has_one_of(*scene.tree, node, row.asks_for)) {
        std::string words(row.asks_for.substr(row.asks_for.rfind(' ') + 1));
        words.erase(0, words.starts_with('^') ? 1 : 0);
        return {false, "in the device tree, without the property " + words};
    }
    if (row.origin == Origin::kernel) {
        return {true, "in the device tree; the kernel's own start-up looks for it"};
    }
    if (!scene.facts->power_off.bound) {
        return {true, "in the device tree; whether its driver is there is not known"};
    }
    const BoundDevice* const device = bound_to(scene, scene.tree->path_of(node));
    if (device == nullptr) {
        return {false, "in the device tree, and no driver is bound to it now"};
    }
    return {true, "in the device tree, and the driver " + safe(device->driver) + " is bound to it"};
}

WayOff from_row(const Scene& scene,
                const PowerOffHandler& row,
                const std::string& compatible,
                NodeId node) {
    WayOff way;
    way.what = std::string(row.what) + " " + in_quotes(compatible);
    way.place = scene.tree->path_of(node);
    way.node = node;
    way.early = row.origin == Origin::kernel;
    way.source = row.source;
    Presence presence = presence_of(scene, row, node);
    way.inferred = std::move(presence.inferred);
    way.turn = Turn::never;
    const std::vector<Standing> ways = standings(scene, row);
    way.between = ways.size() > 1;
    for (const Standing& one : presence.takes_part ? ways : std::vector<Standing>{}) {
        const Turn turn = way.early ? turn_of_early(scene, one) : turn_of(scene, one);
        if (way.standing.stand == Stand::none || turn < way.turn) {
            way.turn = turn;
            way.standing = one;
        }
    }
    if (presence.takes_part && way.standing.stand == Stand::none) {
        way.inferred += "; this kernel's driver registers nothing";
    }
    return way;
}

bool calls_itself_one(std::string_view compatible) {
    return compatible != "gpio-poweroff" &&
           (compatible.ends_with("poweroff") || compatible.ends_with("power-off"));
}

/// A node that a way off is inferred from.
struct Candidate {
    std::string compatible;
    const PowerOffHandler* row = nullptr;  ///< null: only its compatible or its properties say so
};

std::optional<Candidate> candidate(const Tree& tree, const Marked& marked, NodeId node) {
    const std::string* const value = tree.value(node, "compatible");
    const std::vector<std::string> all =
        value == nullptr ? std::vector<std::string>{} : devicetree::strings_of(*value);
    for (const std::string& compatible : all) {
        if (const PowerOffHandler* const row = power_off_handler(compatible)) {
            return Candidate{compatible, row};
        }
    }
    const std::string name = all.empty() ? "" : all.front();
    return marked.contains(node) || calls_itself_one(name) ? std::optional(Candidate{name, nullptr})
                                                           : std::nullopt;
}

WayOff unknown_one(std::string what, std::string place, NodeId node, std::string inferred) {
    WayOff way;
    way.what = std::move(what);
    way.place = std::move(place);
    way.node = node;
    way.inferred = std::move(inferred);
    return way;
}

WayOff from_no_row(const Scene& scene, const std::string& compatible, NodeId node, bool is_marked) {
    const std::string path = scene.tree->path_of(node);
    WayOff way = unknown_one((is_marked ? "the chip " : "the node ") + in_quotes(compatible),
                             path,
                             node,
                             is_marked ? "its node says that it is a system power controller"
                                       : "its node's compatible says so");
    if (scene.facts->power_off.bound && bound_to(scene, path) == nullptr) {
        way.turn = Turn::never;
        way.inferred += ", and no driver is bound to it now";
    }
    return way;
}

bool asks_from_above(const std::string& compatible) {
    const PowerOffHandler* const row = power_off_handler(compatible);
    return row != nullptr && row->asks_for.find('^') != std::string_view::npos;
}

/// Where a property asks for it a chip below counts, too: the property is told of the one that
/// has a row.
bool is_told_below(const Scene& scene, NodeId node) {
    for (NodeId id = node + 1; id < scene.tree->size(); ++id) {
        const std::string* const value =
            scene.tree->node(id).parent == node ? scene.tree->value(id, "compatible") : nullptr;
        const std::vector<std::string> all =
            value == nullptr ? std::vector<std::string>{} : devicetree::strings_of(*value);
        if (std::any_of(all.begin(), all.end(), asks_from_above)) {
            return true;
        }
    }
    return false;
}

void add_nodes(const Scene& scene, std::vector<WayOff>& ways) {
    const Marked marked = marked_nodes(scene.inventory);
    for (NodeId node = devicetree::root; scene.tree != nullptr && node < scene.tree->size();
         ++node) {
        const std::optional<Candidate> one = candidate(*scene.tree, marked, node);
        if (!one || !devicetree::is_enabled(*scene.tree, node)) {
            continue;
        }
        if (one->row != nullptr) {
            ways.push_back(from_row(scene, *one->row, one->compatible, node));
        } else if (!is_told_below(scene, node)) {
            ways.push_back(from_no_row(scene, one->compatible, node, marked.contains(node)));
        }
    }
}

void add_post_halt(const Scene& scene, std::vector<WayOff>& ways) {
    for (const devicetree::PostHaltNode& node : scene.inventory.post_halt) {
        if (!node.enabled) {
            continue;
        }
        WayOff way;
        way.what = scene.node == nullptr ? "a post-halt line" : "the post-halt line";
        way.place = scene.tree->path_of(node.node);
        way.node = node.node;
        way.turn = Turn::ours;
        way.standing = chain_has_post_halt(scene)
                           ? Standing{Stand::chain, static_cast<int>(node.priority.value_or(0))}
                           : Standing{Stand::if_empty};
        way.source = "drivers/power/reset/gpio-poweroff.c";
        way.inferred = !scene.facts->driver.bound
                           ? "in the device tree; whether its driver is there is not known"
                       : std::find(scene.facts->driver.bound->begin(),
                                   scene.facts->driver.bound->end(),
                                   way.place) == scene.facts->driver.bound->end()
                           ? "in the device tree, and no driver is bound to it now"
                           : "in the device tree, and its driver is bound to it";
        ways.push_back(std::move(way));
    }
}

void add_efi(const Scene& scene, std::vector<WayOff>& ways) {
    const Known<bool>& efi = scene.facts->power_off.efi;
    if (!efi || !*efi) {
        return;
    }
    WayOff way;
    way.what = "the firmware (EFI, ResetSystem)";
    way.place = efi_folder;
    way.early = true;
    way.standing = {Stand::chain, efi_priority};
    way.turn = turn_of(scene, way.standing);
    way.inferred = std::string(efi_folder) +
                   " is there; a firmware that offers no ResetSystem at run time is not among them";
    way.source = "drivers/firmware/efi/reboot.c";
    ways.push_back(std::move(way));
}

/// A bound driver of a folder that ways off are at home in, which no row knows. Of the folder with
/// nothing else in it the place alone will do.
bool may_switch_off(const BoundDevice& device) {
    return !device.folder.empty() && !is_known_module(device.module) &&
           (device.folder == "drivers/power/reset" || !device.symbol.empty());
}

void add_unknown_drivers(const Scene& scene, std::vector<WayOff>& ways) {
    const Known<std::vector<BoundDevice>>& bound = scene.facts->power_off.bound;
    for (const BoundDevice& device : bound ? *bound : std::vector<BoundDevice>{}) {
        const bool told = std::any_of(ways.begin(), ways.end(), [&](const WayOff& way) {
            return !device.node.empty() && way.place == device.node;
        });
        if (told || !may_switch_off(device)) {
            continue;
        }
        ways.push_back(unknown_one(
            "the driver " + in_quotes(device.driver),
            device.node,
            scene.tree == nullptr || device.node.empty() ? devicetree::no_node
                                                         : scene.tree->find(device.node),
            "it is bound, and is of " + device.folder +
                (device.symbol.empty() ? "" : ", with a function " + safe(device.symbol))));
    }
}

/// Smaller is earlier; the slot is called behind the chain's equals.
auto place_in_order(const WayOff& way) {
    const bool slot = way.standing.stand == Stand::always || way.standing.stand == Stand::if_empty;
    const int group = way.turn == Turn::never                ? 3
                      : way.turn == Turn::unknown            ? 2
                      : way.standing.stand == Stand::prepare ? 0
                                                             : 1;
    return std::tuple(group, -way.standing.priority, slot);
}

}  // namespace

std::vector<WayOff> ways_off(const Scene& scene) {
    std::vector<WayOff> ways;
    add_post_halt(scene, ways);
    add_efi(scene, ways);
    add_nodes(scene, ways);
    add_unknown_drivers(scene, ways);
    std::stable_sort(ways.begin(), ways.end(), [](const WayOff& a, const WayOff& b) {
        return place_in_order(a) < place_in_order(b);
    });
    return ways;
}

std::vector<NodeId> nodes_of_ways_off(const Tree& tree, const devicetree::Inventory& inventory) {
    const Marked marked = marked_nodes(inventory);
    std::vector<NodeId> nodes;
    for (NodeId node = devicetree::root; node < tree.size(); ++node) {
        if (candidate(tree, marked, node)) {
            nodes.push_back(node);
        }
    }
    return nodes;
}

std::string what_could_hide(const Scene& scene) {
    std::string text = "a driver from outside the kernel's tree";
    if (!scene.facts->kernel) {
        text += "; an order other than that of Linux 6.12, for the kernel's version is not known";
    } else if (scene.facts->kernel->at_least(6, 13)) {
        text += "; a driver that has moved since Linux 6.12, the newest that was read";
    }
    if (!scene.facts->power_off.bound) {
        text += "; a driver that the device tree does not name (" +
                scene.facts->power_off.bound.what_is_missing() + ")";
    }
    if (!scene.facts->power_off.efi) {
        text += "; EFI's ResetSystem (" + scene.facts->power_off.efi.what_is_missing() + ")";
    }
    return text;
}

const WayOff* what_follows(const std::vector<WayOff>& ways) {
    const auto it = std::find_if(
        ways.begin(), ways.end(), [](const WayOff& way) { return way.turn == Turn::after; });
    return it == ways.end() ? nullptr : &*it;
}

}  // namespace nightlatch::audit
