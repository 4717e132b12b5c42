// SPDX-License-Identifier: MIT
// Prints how Nightlatch reads device-tree blobs, a fact a line with tabs between, for a reference
// in another language to compare. usage: tree_dump < LIST, where LIST has the name of a blob a
// line.
#include "audit/scene.hpp"
#include "devicetree/blob.hpp"
#include "devicetree/inventory.hpp"
#include "devicetree/pads.hpp"
#include "devicetree/values.hpp"

#include <fstream>
#include <iostream>
#include <sstream>

using namespace nightlatch;
using namespace nightlatch::devicetree;

namespace {

constexpr std::string_view digits = "0123456789abcdef";

std::string hex(std::string_view bytes) {
    std::string text;
    for (const char c : bytes) {
        const auto byte = static_cast<unsigned char>(c);
        text += digits[byte >> 4U];
        text += digits[byte & 15U];
    }
    return text;
}

void print_strings(const Tree& tree, NodeId node, const char* name) {
    if (const std::string* const value = tree.value(node, name)) {
        std::cout << "strings\t" << name;
        for (const std::string& text : strings_of(*value)) {
            std::cout << '\t' << hex(text);
        }
        std::cout << '\n';
    }
}

void print_line(const Tree& tree, const GpioLine& line) {
    std::cout << tree.path_of(line.controller) << '\t' << line.offset << '\t' << line.flags << '\n';
}

void print_entry(const Tree& tree, const GpioEntry& entry) {
    if (entry) {
        print_line(tree, *entry);
    } else {
        std::cout << "none\t" << entry.error() << '\n';
    }
}

void print_node(const Tree& tree, NodeId node) {
    std::cout << "node\t" << tree.path_of(node) << '\n'
              << "enabled\t" << is_enabled(tree, node) << '\n';
    for (const Property& property : tree.node(node).properties) {
        std::cout << "prop\t" << property.name << '\t' << hex(property.value) << '\n';
    }
    for (const char* const name : {"compatible", "status", "gpio-line-names"}) {
        print_strings(tree, node, name);
    }
}

/// What a line's pad is set to; `who` names the line.
void print_pad(const Tree& tree, NodeId who, const std::optional<GpioLine>& line) {
    if (!line) {
        return;
    }
    const Pad pad = pad_of(tree, *line);
    const bool readable =
        pad.form != PadForm::unknown && pad.pinctrl != no_node && pad.pin.has_value();
    const std::string name = tree.path_of(who);
    std::cout << "pad\t" << name << '\t' << (pad.pin ? std::to_string(*pad.pin) : "-") << '\t'
              << pad.request_switches << '\t' << readable << '\n';
    for (const PadSetting& setting : pad.settings) {
        std::cout << "padset\t" << name << '\t' << tree.path_of(setting.user) << '\t'
                  << tree.path_of(setting.group) << '\t' << setting.row.function << '\n';
    }
}

void print_pads(const Tree& tree, const Inventory& all) {
    for (const PostHaltNode& node : all.post_halt) {
        print_pad(tree, node.node, node.line ? std::optional(*node.line) : std::nullopt);
    }
    for (const Key& key : all.keys) {
        print_pad(tree, key.node, key.line);
    }
    for (const Led& led : all.leds) {
        print_pad(tree, led.node, led.line);
    }
}

/// What the inventory says, under the node it says it of.
void print_inventory(const Tree& tree, const Inventory& all) {
    for (const PostHaltNode& node : all.post_halt) {
        std::cout << "posthalt\t" << tree.path_of(node.node) << '\t' << node.enabled << '\t'
                  << node.active_ms << '\t' << node.inactive_ms << '\t' << node.timeout_ms << '\t'
                  << node.input << '\t';
        print_entry(tree, node.line);
    }
    for (const Hog& hog : all.hogs) {
        for (const GpioLine& line : hog.lines) {
            std::cout << "hog\t" << tree.path_of(hog.node) << '\t' << hog.level << '\t';
            print_line(tree, line);
        }
    }
    for (const Key& key : all.keys) {
        std::cout << "key\t" << tree.path_of(key.node) << '\t' << key.enabled << '\t' << key.code
                  << '\t' << key.type << '\t' << hex(key.label) << '\t';
        print_entry(tree, key.line ? GpioEntry(*key.line) : Unexpected{std::string{}});
    }
    for (const Led& led : all.leds) {
        std::cout << "led\t" << tree.path_of(led.node) << '\t' << led.enabled << '\t'
                  << hex(led.name) << '\t' << led.stays_at_shutdown << '\t';
        print_entry(tree, led.line ? GpioEntry(*led.line) : Unexpected{std::string{}});
    }
    for (const OtherUse& use : all.others) {
        std::cout << "use\t" << tree.path_of(use.node) << '\t' << use.property << '\t';
        print_line(tree, use.line);
    }
    for (const Controller& controller : all.controllers) {
        std::cout << "controller\t" << tree.path_of(controller.node) << '\t' << controller.cells
                  << '\t' << controller.line_names.size() << '\t' << controller.sleeps << '\n';
    }
    for (const PowerController& node : all.power_controllers) {
        std::cout << "powercontroller\t" << tree.path_of(node.node) << '\n';
    }
    std::cout << "psci\t" << all.psci << '\n';
}

/// Who switches off, as the audit of a blob sees it.
void print_ways_off(const Tree& tree) {
    audit::Facts facts;
    facts.source = audit::Source::files;
    facts.tree = tree;
    for (const audit::WayOff& way : audit::make_scene(facts).ways_off) {
        const char* const part = way.turn == audit::Turn::never     ? "no"
                                 : way.turn == audit::Turn::unknown ? "unknown"
                                 : way.turn == audit::Turn::ours    ? "post-halt"
                                                                    : "yes";
        std::cout << "wayoff\t" << way.place << '\t' << part << '\n';
    }
}

void print_tree(const std::string& file) {
    std::ifstream stream(file, std::ios::binary);
    std::ostringstream bytes;
    bytes << stream.rdbuf();
    std::cout << "tree\t" << file << '\n';
    const Result<Tree> tree = read_blob(bytes.str());
    if (!tree) {
        std::cout << "trouble\t" << tree.error().text << '\n';
        return;
    }
    for (NodeId node = root; node < tree->size(); ++node) {
        print_node(*tree, node);
        for (const Property& property : tree->node(node).properties) {
            int index = 0;
            for (const GpioEntry& entry : names_gpios(property.name)
                                              ? gpios(*tree, node, property.name)
                                              : std::vector<GpioEntry>{}) {
                std::cout << "line\t" << property.name << '\t' << index++ << '\t';
                print_entry(*tree, entry);
            }
        }
    }
    const Inventory all = take_inventory(*tree);
    print_inventory(*tree, all);
    print_pads(*tree, all);
    print_ways_off(*tree);
    std::cout << "end\n";
}

}  // namespace

int main() {
    std::ios::sync_with_stdio(false);
    std::string file;
    while (std::getline(std::cin, file)) {
        print_tree(file);
    }
    return std::cout.flush() ? 0 : 1;
}
