// SPDX-License-Identifier: MIT
#include "audit/remedy.hpp"

#include "audit/boot_rules.hpp"
#include "audit/claims.hpp"
#include "audit/pad.hpp"
#include "audit/remedy_place.hpp"
#include "base/text.hpp"
#include "bootfiles/overlay_line.hpp"
#include "devicetree/values.hpp"

#include <algorithm>

namespace nightlatch::audit {
namespace {

using devicetree::GpioLine;
using devicetree::NodeId;
using devicetree::PostHaltNode;

constexpr unsigned driver_active_ms = 100;

const devicetree::Controller* controller_of(const Scene& scene, NodeId node) {
    for (const devicetree::Controller& controller : scene.inventory.controllers) {
        if (controller.node == node) {
            return &controller;
        }
    }
    return nullptr;
}

/// [Devicetree Specification 0.4, 6.2]
bool is_label(std::string_view name) {
    return std::all_of(name.begin(), name.end(), [](char c) {
        return is_digit(c) || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || c == '_';
    });
}

/// The label that the tree's own symbols give the node; empty without.
std::string label_of(const Scene& scene, NodeId node) {
    const NodeId symbols = scene.tree->find("/__symbols__");
    if (symbols == devicetree::no_node) {
        return {};
    }
    const std::string value = scene.tree->path_of(node) + '\0';
    for (const devicetree::Property& property : scene.tree->node(symbols).properties) {
        if (property.value == value && is_label(property.name)) {
            return property.name;
        }
    }
    return {};
}

/// How an overlay can speak of a controller.
struct Reference {
    std::string text;      ///< "&gpio", "0x1"
    std::string fragment;  ///< what has to stand before it: a fragment, with its blank line
    std::string remark;
};

Reference reference_to(const Scene& scene, NodeId controller) {
    if (const std::string label = label_of(scene, controller); !label.empty()) {
        return {"&" + label, "", ""};
    }
    if (const auto phandle = devicetree::cell(*scene.tree, controller, "phandle")) {
        // Without symbols in the base an overlay cannot name its nodes; the number is what is left.
        const std::string path = scene.tree->path_of(controller);
        const bool ends_remark = path.find("*/") != std::string::npos;
        return {std::to_string(*phandle),
                "",
                "\t\t\t/* phandle of " + (ends_remark ? "the controller" : path) +
                    " in this tree: look again after a kernel update */\n"};
    }
    // No node refers to it, so it has no phandle; the label of the overlay's fragment gives it one.
    return {"&line_controller",
            "\tfragment@1 {\n\t\ttarget-path = " + dts_string(scene.tree->path_of(controller)) +
                ";\n\t\tline_controller: __overlay__ {\n\t\t};\n\t};\n\n",
            ""};
}

/// A line as its controller counts.
std::vector<std::uint32_t> specifier_cells(const Scene& scene, const GpioLine& line) {
    const devicetree::Controller* const controller = controller_of(scene, line.controller);
    const std::uint32_t count = controller == nullptr ? 2 : controller->cells;
    const std::uint32_t flags = line.active_low() ? devicetree::flag_active_low : 0;
    if (count == 1) {
        return {line.offset};
    }
    if (count == 3) {
        return {line.offset / 32, line.offset % 32, flags};
    }
    // Some controllers count their pins from 1, and the tree's reader knows which.
    const auto from_zero =
        devicetree::decode_gpio(*scene.tree, line.controller, {line.offset, flags});
    const bool from_one = !from_zero || from_zero->offset != line.offset;
    return {line.offset + (from_one ? 1 : 0), flags};
}

/// Does the tree's reader take the cells for the very line? A controller may count in its own way.
bool is_understood(const Scene& scene, const GpioLine& line) {
    const auto read =
        devicetree::decode_gpio(*scene.tree, line.controller, specifier_cells(scene, line));
    return read && *read == line;
}

std::string specifier(const Scene& scene, const GpioLine& line, const std::string& reference) {
    std::string text = reference;
    for (const std::uint32_t cell : specifier_cells(scene, line)) {
        text += " " + std::to_string(cell);
    }
    return text;
}

std::string head() {
    return "/dts-v1/;\n/plugin/;\n\n/ {\n";
}

/// A device whose pinctrl-0 has the pad would be found at the next audit: better said before.
std::string pad_taken(const Scene& scene, const GpioLine& line) {
    std::string text;
    for (const devicetree::PadSetting& setting : devicetree::pad_of(*scene.tree, line).settings) {
        const bool ours = scene.node != nullptr && setting.user == scene.node->node;
        if (!ours && setting.row.gpio == false) {
            text += safe(scene.tree->path_of(setting.user)) + " sets this line's pad to " +
                    setting.row.function + ": another line is better, or that node disabled.\n";
        }
    }
    return text;
}

std::string caution(const Scene& scene, const GpioLine& line) {
    return "Caution: from the next boot on the kernel drives " + text_of(scene, line) +
           ". Make sure first that this line leads to the supply's release and to nothing else.\n" +
           pad_taken(scene, line);
}

/// Is the line's pad left to the node, and does nothing set it yet?
bool wants_pad(const Scene& scene, const GpioLine& line, const PostHaltNode* existing) {
    const devicetree::Pad pad = devicetree::pad_of(*scene.tree, line);
    const bool set = std::any_of(
        pad.settings.begin(), pad.settings.end(), [&](const devicetree::PadSetting& setting) {
            const bool ours = setting.user == pad.pinctrl ||
                              (existing != nullptr && setting.user == existing->node);
            return setting.row.gpio.value_or(ours) && ours;
        });
    return !pad.request_switches && !set;
}

std::string indented(std::string_view lines, std::string_view tabs) {
    std::string text;
    for (std::size_t at = 0; at < lines.size();) {
        const std::size_t end = lines.find('\n', at) + 1;
        text += std::string(tabs) + std::string(lines.substr(at, end - at));
        at = end;
    }
    return text;
}

/// What the overlay cannot do is said in words.
std::string pad_words(const Scene& scene, const GpioLine& line, const PostHaltNode* existing) {
    if (!wants_pad(scene, line, existing)) {
        return "";
    }
    const PadText pad = pad_text(scene, line);
    return pad.fragment.empty() ? "This overlay does not set the line's pad, and here the kernel "
                                  "does not either. " +
                                      pad.words + "\n"
                                : "";
}

/// Why there is no plan, as a person can mend it.
std::string why_no_plan(const Scene& scene) {
    const config::Settings* const settings = scene.settings;
    const bool stated =
        settings != nullptr && settings->post_halt.where && settings->post_halt.active_low;
    if (!stated || scene.tree == nullptr) {
        return "State chip, line and active of [post_halt] as your circuit is wired; then the "
               "audit gives the exact text to add.";
    }
    if (!scene.post_halt) {
        return "The exact text needs the line that the circuit is on, and it is not known " +
               scene.post_halt.what_is_missing() + ".";
    }
    if (scene.post_halt->controller == devicetree::no_node) {
        return "The device tree has no node of " + safe(scene.post_halt->chip) +
               ", and only a line of a controller of the tree can be the post-halt line.";
    }
    return "State the line that the circuit is on: " + text_of(*scene.post_halt) +
           " is beyond the controller's last.";
}

/// The firmware's own overlay, where it is there, speaks only of the lines of the board's main
/// controller.
const bootfiles::Intent* firmware_for(const Scene& scene, const GpioLine& line) {
    const devicetree::Controller* const controller = controller_of(scene, line.controller);
    const bool main_one = controller != nullptr && !controller->sleeps;
    const bootfiles::Intent* const intent =
        main_one ? boot_text_of(scene, bootfiles::Loader::config_txt) : nullptr;
    const bool has_it =
        intent != nullptr && intent->parametric_overlay != bootfiles::FileSeen::missing;
    return has_it ? intent : nullptr;
}

const bootfiles::OverlayUse* firmware_overlay(const bootfiles::Intent& intent) {
    const auto it = std::find_if(
        intent.overlays.rbegin(), intent.overlays.rend(), [](const bootfiles::OverlayUse& use) {
            return use.name == "gpio-poweroff" && use.certainty != bootfiles::Certainty::no;
        });
    return it == intent.overlays.rend() ? nullptr : &*it;
}

std::string firmware_remedy(const bootfiles::Intent& intent, const PostHaltPlan& plan) {
    const std::string line =
        "    " + bootfiles::post_halt_config_line(
                     {plan.line.offset, plan.line.active_low(), plan.active_ms});
    if (const bootfiles::OverlayUse* const use = firmware_overlay(intent)) {
        return "Replace line " + std::to_string(use->place.line) + " of " + safe(use->place.file) +
               ", and the dtparam lines that follow it, by this line, and reboot:\n" + line;
    }
    return "Add this at the end of " + lasting_file(intent) + ", and reboot:\n    [all]\n" + line;
}

}  // namespace

std::string dts_string(std::string_view text) {
    std::string quoted = "\"";
    for (const char c : text) {
        quoted += c == '"' || c == '\\' ? "\\" : "";
        quoted += c;
    }
    return quoted + "\"";
}

std::optional<PostHaltPlan> plan_from(const Scene& scene) {
    if (scene.settings == nullptr || !scene.post_halt || scene.tree == nullptr ||
        scene.post_halt->controller == devicetree::no_node ||
        !scene.settings->post_halt.active_low) {
        return std::nullopt;
    }
    if (is_past_end(scene, {scene.post_halt->controller, scene.post_halt->offset, 0})) {
        return std::nullopt;
    }
    PostHaltPlan plan;
    plan.line = {scene.post_halt->controller,
                 scene.post_halt->offset,
                 *scene.settings->post_halt.active_low ? devicetree::flag_active_low : 0};
    if (scene.pulse) {
        const auto ms = std::chrono::ceil<std::chrono::milliseconds>(scene.pulse->pulse).count();
        if (ms > driver_active_ms) {
            plan.active_ms = static_cast<unsigned>(ms);
        }
    }
    // A longer pulse than the circuit needs has been somebody's choice, and does no harm.
    if (scene.node != nullptr &&
        scene.node->active_ms > plan.active_ms.value_or(driver_active_ms)) {
        plan.active_ms = scene.node->active_ms;
    }
    return plan;
}

std::string post_halt_overlay(const Scene& scene,
                              const PostHaltPlan& plan,
                              const PostHaltNode* existing) {
    const Reference reference = reference_to(scene, plan.line.controller);
    const PadText pad =
        wants_pad(scene, plan.line, existing) ? pad_text(scene, plan.line) : PadText{};
    std::string body = reference.remark;
    body += "\t\t\tgpios = <" + specifier(scene, plan.line, reference.text) + ">;\n";
    // Of a node that is there only what is wrong is changed.
    const unsigned active_ms = plan.active_ms.value_or(driver_active_ms);
    if (active_ms != (existing == nullptr ? driver_active_ms : existing->active_ms)) {
        body += "\t\t\tactive-delay-ms = <" + std::to_string(active_ms) + ">;\n";
    }
    body += indented(pad.node, "\t\t\t");
    std::string text =
        head() + reference.fragment + pad.fragment + "\tfragment@0 {\n\t\ttarget-path = ";
    if (existing != nullptr) {
        text += dts_string(scene.tree->path_of(existing->node)) + ";\n\t\t__overlay__ {\n" + body;
        return text + "\t\t};\n\t};\n};\n";
    }
    return text + "\"/\";\n\t\t__overlay__ {\n\t\t\t" + std::string(our_overlay) +
           " {\n\t\t\t\tcompatible = \"gpio-poweroff\";\n" + indented(body, "\t") +
           "\t\t\t};\n\t\t};\n\t};\n};\n";
}

std::string change_overlay(const Scene& scene,
                           NodeId node,
                           const std::vector<std::string>& properties) {
    std::string text =
        head() + "\tfragment@0 {\n\t\ttarget-path = " + dts_string(scene.tree->path_of(node)) +
        ";\n\t\t__overlay__ {\n";
    for (const std::string& property : properties) {
        text += "\t\t\t" + property + "\n";
    }
    return text + "\t\t};\n\t};\n};\n";
}

std::string change_remedy(const Scene& scene,
                          NodeId node,
                          const std::vector<std::string>& properties) {
    return "This overlay does it:\n" + change_overlay(scene, node, properties) +
           where_to_put_it(scene);
}

std::string post_halt_remedy(const Scene& scene, const PostHaltNode* existing) {
    const std::optional<PostHaltPlan> plan = plan_from(scene);
    if (plan && !is_understood(scene, plan->line)) {
        return "Give the node the line " + text_of(scene, plan->line) +
               (plan->line.active_low() ? ", active low" : ", active high") +
               ", as the binding of its controller says: its way of counting is not known here.";
    }
    if (!plan) {
        return why_no_plan(scene);
    }
    if (const bootfiles::Intent* const intent = firmware_for(scene, plan->line)) {
        return caution(scene, plan->line) + firmware_remedy(*intent, *plan);
    }
    return caution(scene, plan->line) + "This overlay does it:\n" +
           post_halt_overlay(scene, *plan, existing) + pad_words(scene, plan->line, existing) +
           where_to_put_it(scene);
}

std::string pad_remedy(const Scene& scene, const PostHaltNode& node) {
    const PadText pad = pad_text(scene, *node.line);
    if (pad.fragment.empty()) {
        return pad.words;
    }
    return "This overlay does it:\n" + head() + pad.fragment +
           "\tfragment@0 {\n\t\ttarget-path = " + dts_string(scene.tree->path_of(node.node)) +
           ";\n\t\t__overlay__ {\n" + indented(pad.node, "\t\t\t") + "\t\t};\n\t};\n};\n" +
           where_to_put_it(scene);
}

}  // namespace nightlatch::audit
