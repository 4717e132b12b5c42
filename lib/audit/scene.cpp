// SPDX-License-Identifier: MIT
#include "audit/scene.hpp"

#include "base/text.hpp"
#include "config/diagnostic.hpp"
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

/// The kernel labels most chips of a platform by their device, "9030000.pl061" for pl061@9030000
/// [linux drivers/of/platform.c].
bool answers_to(const Scene& scene, devicetree::NodeId node, std::string_view chip) {
    const std::string& name = scene.tree->node(node).name;
    const std::size_t at = name.find('@');
    return chip == name || chip == scene.tree->path_of(node) ||
           (at != std::string::npos && chip == name.substr(at + 1) + "." + name.substr(0, at));
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

Known<PlacedLine> place_in_tree(const Scene& scene, const lines::LineName& where) {
    std::vector<devicetree::GpioLine> lines;
    if (const std::optional<unsigned> offset = lines::offset_in(where.line)) {
        for (const devicetree::Controller& controller : scene.inventory.controllers) {
            lines.push_back({controller.node, *offset, 0});
        }
    } else {
        lines = devicetree::lines_named(scene.inventory, where.line);
        if (lines.size() == 1) {
            return placed_in_tree(scene, lines.front());
        }
    }
    std::erase_if(lines, [&](const devicetree::GpioLine& line) {
        return !answers_to(scene, line.controller, where.chip);
    });
    if (lines.size() == 1) {
        return placed_in_tree(scene, lines.front());
    }
    return Known<PlacedLine>::missing("which controller of the device tree has line " +
                                      in_quotes(where.line) + " of the chip " +
                                      in_quotes(where.chip) +
                                      " (a chip's label is known to a running kernel only; a "
                                      "line's name in gpio-line-names would do)");
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
