// SPDX-License-Identifier: MIT
#include "audit/claims.hpp"
#include "audit/post_halt.hpp"
#include "audit/remedy.hpp"
#include "audit/say.hpp"
#include "base/text.hpp"
#include "devicetree/chip_label.hpp"
#include "devicetree/values.hpp"

#include <algorithm>

namespace nightlatch::audit::post_halt {
namespace {

using devicetree::NodeId;
using devicetree::PostHaltNode;

std::string level_word(bool active_low) {
    return active_low ? "low" : "high";
}

/// What follows the halt: of a line that is open drain or open source one level is only let go.
std::string after_halt(const devicetree::GpioLine& line) {
    const bool single = (line.flags & devicetree::flag_single_ended) != 0;
    const bool drain = (line.flags & devicetree::flag_open_drain) != 0;
    if (!single || drain == line.active_low()) {
        return "the line goes " + level_word(line.active_low()) + " after halt";
    }
    return "the line is released after halt, and goes " + level_word(line.active_low()) +
           " only if something pulls it " + (line.active_low() ? "down" : "up");
}

/// The node, or whatever above it, is what `status` disables.
NodeId disabled_at(const devicetree::Tree& tree, NodeId node) {
    while (node != devicetree::no_node && devicetree::is_okay(tree, node)) {
        node = tree.node(node).parent;
    }
    return node;
}

std::string line_text(const Scene& scene, const PostHaltNode& node) {
    return node.line ? text_of(scene, *node.line) +
                           (node.line->active_low() ? ", active low" : ", active high")
                     : node.line.error();
}

/// What the boot files ask for, beside a tree that does not have it.
void add_boot_evidence(const Scene& scene, Finding& finding) {
    for (const bootfiles::OverlayUse* const use : boot_overlays(scene)) {
        if (use->name == "gpio-poweroff") {
            finding.evidence.push_back(use->place.file + ":" + std::to_string(use->place.line) +
                                       " loads gpio-poweroff" +
                                       (use->condition.empty() ? "" : ", " + use->condition));
        }
    }
}

void say_past_end(const Scene& scene,
                  const std::string& place,
                  const devicetree::GpioLine& line,
                  Findings& findings) {
    const std::uint32_t count = *devicetree::line_count(*scene.tree, line.controller);
    const std::string controller = scene.tree->path_of(line.controller);
    Finding& finding =
        findings.error(place,
                       "There is no line " + std::to_string(line.offset) + " of " + controller +
                           ": it has " + std::to_string(count) + ", numbered from 0.");
    finding.evidence = {controller +
                        (devicetree::has(*scene.tree, line.controller, "ngpios")
                             ? "/ngpios = "
                             : "/gpio-ranges end at ") +
                        std::to_string(count)};
    finding.remedy = scene.node != nullptr && scene.node->line && *scene.node->line == line
                         ? post_halt_remedy(scene, scene.node)
                         : "State the line that the circuit is on.";
}

}  // namespace

Judgement node_is_there(const Scene& scene) {
    if (scene.tree == nullptr) {
        return CannotTell{missing_tree(scene)};
    }
    if (!scene.inventory.post_halt.empty()) {
        return Pass{"the device tree has " +
                    scene.tree->path_of(scene.inventory.post_halt.front().node)};
    }
    Findings findings;
    Finding& finding = findings.error(
        "/",
        "The device tree has no gpio-poweroff node: after halt the kernel raises no line, and the "
        "supply stays connected.");
    finding.evidence = {"no node is compatible with \"gpio-poweroff\""};
    add_boot_evidence(scene, finding);
    finding.remedy = post_halt_remedy(scene, nullptr);
    return findings.or_pass({});
}

Judgement node_is_enabled(const Scene& scene) {
    const std::vector<PostHaltNode>& nodes = scene.inventory.post_halt;
    if (std::any_of(nodes.begin(), nodes.end(), [](const PostHaltNode& n) { return n.enabled; })) {
        return Pass{"it is enabled"};
    }
    Findings findings;
    for (const PostHaltNode& node : nodes) {
        const NodeId at = disabled_at(*scene.tree, node.node);
        Finding& finding = findings.error(
            scene.tree->path_of(node.node),
            "The post-halt node is disabled: after halt the kernel raises no line, and the supply "
            "stays connected.");
        if (at != devicetree::no_node) {
            finding.evidence = {
                scene.tree->path_of(at) +
                "/status = " + in_quotes(devicetree::text(*scene.tree, at, "status").value_or(""))};
            finding.remedy = change_remedy(scene, at, {"status = \"okay\";"});
        }
    }
    return findings.or_pass({});
}

Judgement node_is_single(const Scene& scene) {
    if (scene.node != nullptr) {
        return Pass{"there is no second one"};
    }
    const bool old = scene.facts->kernel && !scene.facts->kernel->at_least(6, 7);
    Findings findings;
    Finding& finding = findings.error(
        "/",
        std::string("The device tree has several enabled post-halt nodes: ") +
            (old ? "before Linux 6.7 only the first to be probed works, and the others fail."
                 : "they act one after the other, each with its own delays, and which comes first "
                   "is not this configuration's choice."));
    for (const PostHaltNode& node : scene.inventory.post_halt) {
        if (node.enabled) {
            finding.evidence.push_back(scene.tree->path_of(node.node) + ": " +
                                       line_text(scene, node) + ", priority " +
                                       std::to_string(node.priority.value_or(0)));
        }
    }
    finding.remedy = "Keep the one whose line leads to the supply's release: remove what adds the "
                     "others, or give them status = \"disabled\".";
    return findings.or_pass({});
}

Judgement line_is_right(const Scene& scene) {
    const PostHaltNode& node = *scene.node;
    const std::string path = scene.tree->path_of(node.node);
    Findings findings;
    if (!node.line) {
        Finding& finding = findings.error(
            path, "The post-halt node's line cannot be resolved, so the kernel has none to raise.");
        finding.evidence = {path + "/gpios: " + node.line.error()};
        finding.remedy = post_halt_remedy(scene, &node);
        return findings.or_pass({});
    }
    if (is_past_end(scene, *node.line)) {
        say_past_end(scene, path + "/gpios", *node.line, findings);
        return findings.or_pass({});
    }
    if (!scene.post_halt) {
        return CannotTell{scene.post_halt.what_is_missing()};
    }
    const auto wanted = in_tree(*scene.post_halt);
    if (!wanted) {
        return CannotTell{"the device-tree node of " + scene.post_halt->chip};
    }
    if (is_past_end(scene, *wanted)) {
        say_past_end(scene, config_place(scene, "post_halt.line"), *wanted, findings);
    } else if (!wanted->same_line(*node.line)) {
        Finding& finding =
            findings.error(path,
                           "The kernel raises " + text_of(scene, *node.line) +
                               " after halt, but the circuit is on " + text_of(scene, *wanted) +
                               ": the supply stays connected.");
        finding.evidence = {path + "/gpios: " + text_of(scene, *node.line),
                            config_place(scene, "post_halt.line") + ": " +
                                text_of(*scene.post_halt)};
        finding.remedy = "If the configuration is wrong, correct [post_halt]. If the tree is:\n" +
                         post_halt_remedy(scene, &node);
    }
    return findings.or_pass("the kernel raises " + text_of(scene, *node.line));
}

Judgement polarity_is_right(const Scene& scene) {
    const PostHaltNode& node = *scene.node;
    if (!node.line) {
        return NotApplicable{"the node's line cannot be resolved"};
    }
    if (scene.settings == nullptr) {
        return CannotTell{missing_config(scene)};
    }
    const std::optional<bool> wanted = scene.settings->post_halt.active_low;
    if (!wanted) {
        return CannotTell{"[post_halt] active, the level that releases the circuit"};
    }
    const bool is = node.line->active_low();
    Findings findings;
    if (is != *wanted) {
        const std::string path = scene.tree->path_of(node.node);
        Finding& finding = findings.error(
            path,
            "The line's polarity is the wrong way round: the circuit releases at " +
                level_word(*wanted) + ", and the kernel holds the line " + level_word(*wanted) +
                " while the board runs and drives it " + level_word(is) + " after halt.");
        finding.evidence = {path + "/gpios: " + line_text(scene, node),
                            config_place(scene, "post_halt.active") + " = " +
                                in_quotes(level_word(*wanted))};
        finding.remedy = "If the configuration is wrong, correct [post_halt]. If the tree is:\n" +
                         post_halt_remedy(scene, &node);
    }
    return findings.or_pass(after_halt(*node.line));
}

Judgement priority_is_taken(const Scene& scene) {
    const std::optional<std::uint32_t>& priority = scene.node->priority;
    if (!priority) {
        return Pass{"it has the driver's own, 0"};
    }
    if (scene.facts->kernel && !scene.facts->kernel->at_least(6, 7)) {
        return NotApplicable{"before Linux 6.7 the driver reads no priority"};
    }
    Findings findings;
    if (*priority > 255) {
        const std::string path = scene.tree->path_of(scene.node->node);
        Finding& finding =
            findings.error(path,
                           "The post-halt node's priority is not one of 0 to 255, and "
                           "the driver refuses it: after halt the line is not raised.");
        finding.evidence = {path + "/priority = " + std::to_string(*priority)};
        finding.remedy = change_remedy(scene, scene.node->node, {"priority = <200>;"});
    }
    return findings.or_pass("it is " + std::to_string(*priority));
}

}  // namespace nightlatch::audit::post_halt
