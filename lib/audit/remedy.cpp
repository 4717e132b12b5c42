// SPDX-License-Identifier: MIT
#include "audit/remedy.hpp"

#include "audit/boot_rules.hpp"
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

/// A string of a device tree's source [Devicetree Specification 0.4, 6.4: as in C]. A name may hold
/// quotation marks, and must not end it.
std::string dts_string(std::string_view text) {
    std::string quoted = "\"";
    for (const char c : text) {
        quoted += c == '"' || c == '\\' ? "\\" : "";
        quoted += c;
    }
    return quoted + "\"";
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
                    " in this very tree: look again after a kernel update */\n"};
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

std::string caution(const Scene& scene, const GpioLine& line) {
    return "Caution: from the next boot on the kernel drives " + text_of(scene, line) +
           ". Make sure first that this line leads to the supply's release and to nothing else.\n";
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

std::optional<PostHaltPlan> plan_from(const Scene& scene) {
    if (scene.settings == nullptr || !scene.post_halt || scene.tree == nullptr ||
        scene.post_halt->controller == devicetree::no_node ||
        !scene.settings->post_halt.active_low) {
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
    std::string body = reference.remark;
    body += "\t\t\tgpios = <" + specifier(scene, plan.line, reference.text) + ">;\n";
    // Of a node that is there only what is wrong is changed.
    const unsigned active_ms = plan.active_ms.value_or(driver_active_ms);
    if (active_ms != (existing == nullptr ? driver_active_ms : existing->active_ms)) {
        body += "\t\t\tactive-delay-ms = <" + std::to_string(active_ms) + ">;\n";
    }
    std::string text = head() + reference.fragment + "\tfragment@0 {\n\t\ttarget-path = ";
    if (existing != nullptr) {
        text += dts_string(scene.tree->path_of(existing->node)) + ";\n\t\t__overlay__ {\n" + body;
        return text + "\t\t};\n\t};\n};\n";
    }
    std::string indented;
    for (std::size_t at = 0; at < body.size();) {
        const std::size_t end = body.find('\n', at) + 1;
        indented += "\t" + body.substr(at, end - at);
        at = end;
    }
    return text + "\"/\";\n\t\t__overlay__ {\n\t\t\t" + std::string(our_overlay) +
           " {\n\t\t\t\tcompatible = \"gpio-poweroff\";\n" + indented +
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
        return "State chip, line and active of [post_halt] as your circuit is wired; then the "
               "audit gives the exact text to add.";
    }
    if (const bootfiles::Intent* const intent = firmware_for(scene, plan->line)) {
        return caution(scene, plan->line) + firmware_remedy(*intent, *plan);
    }
    return caution(scene, plan->line) + "This overlay does it:\n" +
           post_halt_overlay(scene, *plan, existing) + where_to_put_it(scene);
}

}  // namespace nightlatch::audit
