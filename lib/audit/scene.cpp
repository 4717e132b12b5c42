// SPDX-License-Identifier: MIT
#include "audit/scene.hpp"

#include "base/text.hpp"
#include "config/diagnostic.hpp"
#include "devicetree/chip_label.hpp"
#include "lines/find.hpp"

#include <algorithm>

namespace nightlatch::audit {
namespace {

using lines::Chip;

/// The chip's node, when the offsets of the two are the same: several chips of one node (a bank
/// each) share its numbering in a way that only their driver knows.
devicetree::NodeId node_of(const Scene& scene, const std::vector<Chip>& chips, const Chip& chip) {
    const auto same = std::count_if(
        chips.begin(), chips.end(), [&](const Chip& c) { return c.node == chip.node; });
    if (scene.tree == nullptr || chip.node.empty() || same > 1) {
        return devicetree::no_node;
    }
    return scene.tree->find(chip.node);
}

PlacedLine placed(const Scene& scene,
                  const std::vector<Chip>& chips,
                  const Chip& chip,
                  unsigned at) {
    PlacedLine line;
    line.chip = lines::text_of(chip);
    line.chip_name = chip.name;
    line.controller = node_of(scene, chips, chip);
    line.offset = at;
    line.name = chip.lines[at].name;
    line.live = &chip.lines[at];
    line.sleeps = chip.sleeps;
    return line;
}

/// A phrase for a chip's text that does not mean one chip.
std::string why_no_chip(const std::vector<Chip>& chips,
                        const std::string& text,
                        const lines::NotOne& not_one) {
    if (not_one.why != lines::Why::several_chips) {
        return "there is no chip " + in_quotes(text) + " now";
    }
    return "both " + chips[not_one.candidates[0]].name + " and " +
           chips[not_one.candidates[1]].name + " have the label " + in_quotes(text) +
           ": which one is meant";
}

Known<PlacedLine> place_live(const Scene& scene, const lines::LineName& where) {
    const std::vector<Chip>& chips = *scene.facts->chips;
    const auto found = lines::find_chip(chips, where.chip);
    if (!found) {
        return Known<PlacedLine>::missing(why_no_chip(chips, where.chip, found.error()));
    }
    const Chip& chip = chips[*found];
    const auto offset = lines::find_line(chip, where.line);
    if (!offset) {
        return Known<PlacedLine>::missing(lines::why_no_line(chip, where.line, offset.error()));
    }
    return placed(scene, chips, chip, *offset);
}

/// By its path, its name, or the label that the kernel gives its chip.
bool answers_to(const Scene& scene, devicetree::NodeId node, std::string_view chip) {
    const std::vector<std::string> labels = devicetree::chip_labels(*scene.tree, node);
    return chip == scene.tree->node(node).name || chip == scene.tree->path_of(node) ||
           std::find(labels.begin(), labels.end(), chip) != labels.end();
}

Known<PlacedLine> placed_in_tree(const Scene& scene, const devicetree::GpioLine& line) {
    PlacedLine there;
    there.chip = scene.tree->path_of(line.controller);
    there.controller = line.controller;
    there.offset = line.offset;
    there.name = devicetree::line_name(scene.inventory, line);
    for (const devicetree::Controller& controller : scene.inventory.controllers) {
        if (controller.node == line.controller) {
            there.sleeps = controller.sleeps;
        }
    }
    return there;
}

std::vector<devicetree::NodeId> controllers_called(const Scene& scene, std::string_view chip) {
    std::vector<devicetree::NodeId> nodes;
    for (const devicetree::Controller& controller : scene.inventory.controllers) {
        if (answers_to(scene, controller.node, chip)) {
            nodes.push_back(controller.node);
        }
    }
    return nodes;
}

/// "/soc/gpio@7e200000 [pinctrl-bcm2711], …": what could have been meant.
std::string listed(const Scene& scene, const std::vector<devicetree::NodeId>& nodes) {
    constexpr std::size_t most = 8;
    std::string text;
    for (std::size_t i = 0; i < std::min(most, nodes.size()); ++i) {
        const auto labels = devicetree::chip_labels(*scene.tree, nodes[i]);
        text += (text.empty() ? "" : ", ") + safe(scene.tree->path_of(nodes[i])) +
                (labels.empty() ? "" : " [" + safe(labels.front()) + "]");
    }
    return text +
           (nodes.size() > most ? " and " + std::to_string(nodes.size() - most) + " more" : "");
}

/// Why a chip's text means none of this tree's controllers, or several, and what to write.
std::string why_no_controller(const Scene& scene,
                              const lines::LineName& where,
                              const std::vector<devicetree::NodeId>& called) {
    const std::string which =
        "which controller of the device tree the chip " + in_quotes(where.chip) + " is: ";
    if (!called.empty()) {
        return which + "several answer to it, " + listed(scene, called) +
               " (the path of one will do for the chip)";
    }
    std::vector<devicetree::NodeId> all;
    for (const devicetree::Controller& controller : scene.inventory.controllers) {
        if (controller.enabled) {
            all.push_back(controller.node);
        }
    }
    const std::string none = lines::by_number(where.chip)
                                 ? "the kernel numbers its chips anew at each boot; "
                                 : "none has this label, as far as the tree tells; ";
    return which + none +
           (all.empty()
                ? "it has no enabled controller"
                : "it has " + listed(scene, all) + " (the path of one will do for the chip)");
}

/// The line of one of these controllers; of several it must be a name that only one of them has.
std::optional<devicetree::GpioLine> line_among(const Scene& scene,
                                               const std::vector<devicetree::NodeId>& called,
                                               const std::string& line) {
    if (const std::optional<unsigned> offset = lines::offset_in(line)) {
        return called.size() == 1 ? std::optional(devicetree::GpioLine{called.front(), *offset, 0})
                                  : std::nullopt;
    }
    std::vector<devicetree::GpioLine> lines = devicetree::lines_named(scene.inventory, line);
    if (!called.empty()) {
        std::erase_if(lines, [&](const devicetree::GpioLine& one) {
            return std::find(called.begin(), called.end(), one.controller) == called.end();
        });
    }
    return lines.size() == 1 ? std::optional(lines.front()) : std::nullopt;
}

Known<PlacedLine> place_in_tree(const Scene& scene, const lines::LineName& where) {
    const std::vector<devicetree::NodeId> called = controllers_called(scene, where.chip);
    if (const auto line = line_among(scene, called, where.line)) {
        return placed_in_tree(scene, *line);
    }
    if (called.size() != 1) {
        return Known<PlacedLine>::missing(why_no_controller(scene, where, called));
    }
    return Known<PlacedLine>::missing(
        "which line of " + safe(scene.tree->path_of(called.front())) + " is " +
        in_quotes(where.line) +
        ": its gpio-line-names do not name one line so, and an offset will do");
}

Known<PlacedLine> place_stated(const Scene& scene, const std::optional<lines::LineName>& where) {
    if (!where) {
        return Known<PlacedLine>::missing(
            "[post_halt] chip and line, which say where the circuit's line is");
    }
    return place_line(scene, *where);
}

std::vector<InputLine> input_lines(const Scene& scene) {
    const config::Settings& settings = *scene.settings;
    const config::Button& button = settings.button;
    std::vector<InputLine> inputs{
        {"the button's line", "button", button.bias, button.active_low, scene.button}};
    for (std::size_t i = 0; i < settings.alarm_lines.size(); ++i) {
        const config::AlarmLine& line = settings.alarm_lines[i];
        inputs.push_back({"the line of the alarm " + in_quotes(settings.core.alarms[i].name),
                          "alarm",
                          line.bias,
                          line.active_low,
                          place_line(scene, line.where)});
    }
    return inputs;
}

const devicetree::PostHaltNode* only_enabled(const devicetree::Inventory& inventory) {
    const devicetree::PostHaltNode* found = nullptr;
    for (const devicetree::PostHaltNode& node : inventory.post_halt) {
        if (node.enabled && found != nullptr) {
            return nullptr;
        }
        found = node.enabled ? &node : found;
    }
    return found;
}

}  // namespace

Known<PlacedLine> place_line(const Scene& scene, const lines::LineName& where) {
    if (scene.facts->chips) {
        return place_live(scene, where);
    }
    if (scene.tree != nullptr) {
        return place_in_tree(scene, where);
    }
    return Known<PlacedLine>::missing("the chips and the device tree");
}

std::string text_of(const Scene& scene, const devicetree::GpioLine& line) {
    const std::string name = devicetree::line_name(scene.inventory, line);
    return (scene.tree == nullptr ? "?" : scene.tree->path_of(line.controller)) + " line " +
           std::to_string(line.offset) + (name.empty() ? "" : " (" + safe(name) + ")");
}

Scene make_scene(const Facts& facts) {
    Scene scene;
    scene.facts = &facts;
    if (facts.config && facts.config->loaded.settings) {
        scene.settings = &*facts.config->loaded.settings;
    }
    if (facts.tree) {
        scene.tree = &*facts.tree;
        scene.inventory = devicetree::take_inventory(*scene.tree);
    }
    if (scene.settings != nullptr) {
        scene.button = place_line(scene, scene.settings->button.where);
        scene.inputs = input_lines(scene);
        scene.post_halt = place_stated(scene, scene.settings->post_halt.where);
        scene.pulse = needed_pulse(*scene.settings);
    } else {
        const std::string why = facts.config ? "a configuration that can be used (nightlatch check)"
                                             : facts.config.what_is_missing();
        scene.button = Known<PlacedLine>::missing(why);
        scene.post_halt = Known<PlacedLine>::missing(why);
        scene.pulse = Known<NeededPulse>::missing(why);
    }
    scene.node = only_enabled(scene.inventory);
    scene.ways_off = ways_off(scene);
    return scene;
}

}  // namespace nightlatch::audit
