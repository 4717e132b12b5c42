// SPDX-License-Identifier: MIT
#include "audit/boot_rules.hpp"
#include "audit/remedy_place.hpp"
#include "base/text.hpp"
#include "config/diagnostic.hpp"
#include "devicetree/values.hpp"

#include <algorithm>
#include <array>
#include <charconv>

namespace nightlatch::audit {
namespace {

using devicetree::PostHaltNode;

/// One parameter of it and where its value goes.
void take(const bootfiles::Parameter& parameter, unsigned value, OverlayNode& node) {
    const std::string& name = parameter.name;
    if (name == "gpiopin") {
        node.offset = value;
    } else if (name == "active_low") {
        node.active_low = (value & 1U) != 0;
    } else if (name == "input") {
        node.input = value != 0;
    } else if (name == "active_delay_ms") {
        node.active_ms = value;
    } else if (name == "inactive_delay_ms") {
        node.inactive_ms = value;
    } else if (name == "timeout_ms") {
        node.timeout_ms = value;
    }
}

bool is_parameter_of_node(const std::string& name) {
    constexpr std::array<std::string_view, 6> names{
        "gpiopin", "active_low", "input", "active_delay_ms", "inactive_delay_ms", "timeout_ms"};
    return std::find(names.begin(), names.end(), name) != names.end();
}

void compare(std::string_view what, unsigned text, unsigned tree, std::vector<std::string>& out) {
    if (text != tree) {
        out.push_back(std::string(what) + ": " + std::to_string(text) + " in the text, " +
                      std::to_string(tree) + " in the tree");
    }
}

std::vector<std::string> differences(const OverlayNode& text, const PostHaltNode& tree) {
    std::vector<std::string> out;
    compare("line", text.offset, tree.line->offset, out);
    compare("active low", text.active_low, tree.line->active_low(), out);
    compare("input", text.input, tree.input, out);
    compare("active delay in ms", text.active_ms, tree.active_ms, out);
    compare("inactive delay in ms", text.inactive_ms, tree.inactive_ms, out);
    compare("time-out in ms", text.timeout_ms, tree.timeout_ms, out);
    return out;
}

std::vector<const PostHaltNode*> enabled_nodes(const Scene& scene) {
    std::vector<const PostHaltNode*> nodes;
    for (const PostHaltNode& node : scene.inventory.post_halt) {
        if (node.enabled) {
            nodes.push_back(&node);
        }
    }
    return nodes;
}

/// What keeps a use from being compared, or "" after it has been.
std::string compare_use(const Scene& scene, const LoadedOverlay& loaded, Findings& findings) {
    const bootfiles::OverlayUse& use = *loaded.use;
    const std::vector<const PostHaltNode*> nodes = enabled_nodes(scene);
    const Result<OverlayNode, std::string> wanted = node_in_force(loaded);
    if (!wanted) {
        return wanted.error();
    }
    std::vector<std::string> least;
    const PostHaltNode* nearest = nullptr;
    for (const PostHaltNode* const node : nodes) {
        if (!node->line) {
            return node->line.error();
        }
        if (!is_counted_in_config(scene, node->line->controller)) {
            return "whether line " + std::to_string(wanted->offset) + " of the text is a line of " +
                   scene.tree->path_of(node->line->controller);
        }
        std::vector<std::string> unlike = differences(*wanted, *node);
        if (nearest == nullptr || unlike.size() < least.size()) {
            nearest = node;
            least = std::move(unlike);
        }
    }
    if (nearest != nullptr && !least.empty()) {
        Finding& finding = findings.warning(
            text_of(use.place),
            "the running tree's post-halt node is not as the text asks for: what is judged here "
            "holds until the next boot only");
        finding.evidence = {text_of(use.place) + ": " + text_of(use),
                            "node " + scene.tree->path_of(nearest->node)};
        finding.evidence.insert(finding.evidence.end(), least.begin(), least.end());
        finding.remedy = "reboot, then audit again; if it still differs, another line or file "
                         "of the boot loader sets it";
    }
    return {};
}

void add_not_booted(const bootfiles::Intent& intent,
                    const bootfiles::OverlayUse& use,
                    Findings& findings) {
    const std::string place = text_of(use.place);
    Finding& finding = findings.warning(
        place,
        "a post-halt line is configured but not booted yet: the running tree has none, so a "
        "power-off now leaves the supply connected");
    finding.evidence = {place + ": " + text_of(use)};
    finding.remedy =
        "reboot, then audit again; if the node is still not there, the boot loader could not load "
        "the overlay: see that " +
        safe(use.file.empty() ? "overlays/" + use.name + ".dtbo" : use.file) +
        " is there, beside " + safe(intent.file);
}

/// What is missing to compare it with the tree, or "" after it has been.
std::string judge_use(const Scene& scene, const LoadedOverlay& loaded, Findings& findings) {
    const bootfiles::Intent& intent = *loaded.intent;
    const bootfiles::OverlayUse& use = *loaded.use;
    if (scene.tree == nullptr) {
        return scene.facts->tree.what_is_missing();
    }
    if (enabled_nodes(scene).empty()) {
        add_not_booted(intent, use, findings);
        return {};
    }
    if (is_parametric(intent, use)) {
        return compare_use(scene, loaded, findings);
    }
    return {};
}

}  // namespace

bool is_post_halt_overlay(const bootfiles::OverlayUse& use) {
    // The second is ours: what the remedy for a missing node tells people to call it.
    return use.name == "gpio-poweroff" || use.name == our_overlay || use.content.post_halt;
}

Known<std::string> other_controller(const Scene& scene, const bootfiles::OverlayUse& use) {
    using Answer = Known<std::string>;
    const std::string& label = use.content.post_halt->controller;
    const std::string what =
        "whether the overlay's controller is the one that [post_halt] means: only the tree that it "
        "is put into knows (--tree)";
    if (scene.tree == nullptr || label.empty()) {
        return Answer::missing(what);
    }
    const devicetree::NodeId symbols = scene.tree->find("/__symbols__");
    const std::optional<std::string> path = symbols == devicetree::no_node
                                                ? std::nullopt
                                                : devicetree::text(*scene.tree, symbols, label);
    const devicetree::NodeId theirs = path ? scene.tree->find(*path) : devicetree::no_node;
    if (theirs == devicetree::no_node) {
        return Answer::missing(what + ", and this one has no label " + safe(label));
    }
    if (!scene.post_halt) {
        return Answer::missing(scene.post_halt.what_is_missing());
    }
    if (scene.post_halt->controller == devicetree::no_node) {
        return Answer::missing("which of the tree's controllers " + scene.post_halt->chip + " is");
    }
    return theirs == scene.post_halt->controller ? std::string() : scene.tree->path_of(theirs);
}

std::optional<unsigned> parameter_number(const bootfiles::Parameter& parameter) {
    constexpr std::array<std::string_view, 5> yes{"", "y", "yes", "on", "true"};
    constexpr std::array<std::string_view, 4> no{"n", "no", "off", "false"};
    std::string_view text = parameter.value;
    if (std::find(yes.begin(), yes.end(), text) != yes.end()) {
        return 1;
    }
    if (std::find(no.begin(), no.end(), text) != no.end()) {
        return 0;
    }
    int base = 10;
    if (text.starts_with("0x") || text.starts_with("0X")) {
        text.remove_prefix(2);
        base = 16;
    }
    unsigned value = 0;
    const char* const end = text.data() + text.size();
    const auto [stopped, error] = std::from_chars(text.data(), end, value, base);
    if (error != std::errc{} || stopped != end) {
        return std::nullopt;
    }
    return value;
}

namespace {

/// Sets what the overlay states in `node`. What is not known, when a value is not a number or
/// depends on something; else "".
std::string apply(const bootfiles::OverlayUse& use, OverlayNode& node) {
    const OverlayNode usual;
    node.offset = usual.offset;
    node.active_low = usual.active_low;
    for (const bootfiles::Parameter& parameter : use.parameters) {
        if (!is_parameter_of_node(parameter.name)) {
            continue;
        }
        const bool is_flag = parameter.name == "active_low" || parameter.name == "input";
        const std::optional<unsigned> value = parameter_number(parameter);
        if (!value || (!is_flag && parameter.value.empty())) {
            return "what " + in_quotes(parameter.name + "=" + parameter.value) + " in " +
                   text_of(parameter.place) + " means: it is not a number";
        }
        if (parameter.certainty != bootfiles::Certainty::yes) {
            return "whether " + parameter.name + " in " + text_of(parameter.place) +
                   " holds: it depends on " + parameter.condition;
        }
        take(parameter, *value, node);
    }
    return {};
}

}  // namespace

LoadedOverlay last_of_node(const bootfiles::Intent& intent) {
    LoadedOverlay last{&intent, nullptr};
    for (const bootfiles::OverlayUse& use : intent.overlays) {
        if (is_parametric(intent, use) && use.certainty == bootfiles::Certainty::yes) {
            last.use = &use;
        }
    }
    return last;
}

Result<OverlayNode, std::string> node_in_force(const LoadedOverlay& loaded) {
    OverlayNode node;
    std::string missing;
    for (const bootfiles::OverlayUse& use : loaded.intent->overlays) {
        const bool is_it = &use == loaded.use;
        if (is_it ||
            (is_parametric(*loaded.intent, use) && use.certainty == bootfiles::Certainty::yes)) {
            missing = apply(use, node);
        }
        if (is_it || !missing.empty()) {
            break;
        }
    }
    return missing.empty() ? Result<OverlayNode, std::string>(node) : Unexpected{missing};
}

bool is_counted_in_config(const Scene& scene, devicetree::NodeId controller) {
    constexpr std::array<std::string_view, 4> family{
        "brcm,bcm2835-gpio", "brcm,bcm2711-gpio", "brcm,bcm7211-gpio", "raspberrypi,rp1-gpio"};
    return scene.tree != nullptr && controller != devicetree::no_node &&
           std::any_of(family.begin(), family.end(), [&](std::string_view one) {
               return devicetree::is_compatible(*scene.tree, controller, one);
           });
}

Known<std::optional<unsigned>> config_number(const Scene& scene, const Known<PlacedLine>& line) {
    using Answer = Known<std::optional<unsigned>>;
    if (!line) {
        return Answer::missing(line.what_is_missing());
    }
    if (is_counted_in_config(scene, line->controller)) {
        return std::optional<unsigned>{line->offset};
    }
    const auto& all = scene.inventory.controllers;
    const bool has_main = std::any_of(all.begin(), all.end(), [&](const auto& controller) {
        return is_counted_in_config(scene, controller.node);
    });
    if (has_main && line->controller != devicetree::no_node) {
        return std::optional<unsigned>{};
    }
    return Answer::missing("which of the text's numbers is line " + std::to_string(line->offset) +
                           " of " + line->chip);
}

std::string text_of(const bootfiles::FileLine& place) {
    return place.file + ":" + std::to_string(place.line);
}

std::string text_of(const bootfiles::OverlayUse& use) {
    if (!use.file.empty() && use.parameters.empty()) {
        return use.name + " (" + use.file + ")";
    }
    std::string text = "dtoverlay=" + use.name;
    for (const bootfiles::Parameter& parameter : use.parameters) {
        text += "," + parameter.name + (parameter.value.empty() ? "" : "=" + parameter.value);
    }
    return shortened(text);
}

std::optional<Judgement> no_boot_text(const Scene& scene) {
    const Known<std::vector<bootfiles::Intent>>& boot = scene.facts->boot;
    if (!boot) {
        return CannotTell{boot.what_is_missing()};
    }
    if (boot->empty()) {
        return NotApplicable{"there is no boot loader's text of a kind that is read here"};
    }
    return std::nullopt;
}

std::vector<LoadedOverlay> all_overlays(const Scene& scene) {
    std::vector<LoadedOverlay> found;
    for (const bootfiles::Intent& intent : *scene.facts->boot) {
        for (const bootfiles::OverlayUse& use : intent.overlays) {
            found.push_back({&intent, &use});
        }
    }
    std::erase_if(found, [](const LoadedOverlay& loaded) {
        return loaded.use->certainty == bootfiles::Certainty::no;
    });
    return found;
}

Judgement judge_boot_differs(const Scene& scene) {
    if (std::optional<Judgement> none = no_boot_text(scene)) {
        return *std::move(none);
    }
    Findings findings;
    std::string seen;
    std::string missing;
    bool depends = false;
    for (const LoadedOverlay& loaded : all_overlays(scene)) {
        if (!is_post_halt_overlay(*loaded.use) || is_replaced(loaded)) {
            continue;
        }
        if (loaded.use->certainty != bootfiles::Certainty::yes) {
            depends = true;
            continue;
        }
        seen = text_of(loaded.use->place);
        const std::string why = judge_use(scene, loaded, findings);
        missing = why.empty() ? missing : why;
    }
    if (seen.empty()) {
        return NotApplicable{depends
                                 ? "what asks for a post-halt overlay here holds on a condition "
                                   "only: see boot-section"
                                 : "no boot loader's text asks for a post-halt overlay here"};
    }
    if (!missing.empty()) {
        return findings.or_else(CannotTell{missing});
    }
    return findings.or_pass("the running tree has the post-halt node that " + seen + " asks for");
}

}  // namespace nightlatch::audit
