// SPDX-License-Identifier: MIT
#include "audit/cues.hpp"

#include "audit/claims.hpp"
#include "audit/remedy.hpp"
#include "audit/say.hpp"
#include "base/nearest.hpp"
#include "base/text.hpp"
#include "config/diagnostic.hpp"

#include <algorithm>

namespace nightlatch::audit::cues {
namespace {

const NotApplicable no_led{"no [[feedback]] names an LED"};

/// The configured outputs of one kind.
template <class Output>
std::vector<std::pair<const Output*, const config::Feedback*>> outputs(const Scene& scene) {
    std::vector<std::pair<const Output*, const config::Feedback*>> found;
    for (const config::Feedback& feedback : scene.settings->feedback) {
        if (const auto* output = std::get_if<Output>(&feedback.output)) {
            found.emplace_back(output, &feedback);
        }
    }
    return found;
}

const LedFacts* led_named(const Scene& scene, const std::string& name) {
    for (const LedFacts& led : *scene.facts->leds) {
        if (led.name == name) {
            return &led;
        }
    }
    return nullptr;
}

/// The LED's node, by the running kernel's word where there is one, else by its name in the tree.
const devicetree::Led* node_of(const Scene& scene, const std::string& name) {
    const LedFacts* const live = scene.facts->leds ? led_named(scene, name) : nullptr;
    for (const devicetree::Led& led : scene.inventory.leds) {
        const bool it = live != nullptr && !live->node.empty()
                            ? scene.tree->path_of(led.node) == live->node
                            : led.name == name;
        if (it) {
            return &led;
        }
    }
    return nullptr;
}

void say_no_led(const Scene& scene, const std::string& name, Findings& findings) {
    Finding& finding =
        findings.error(config_place(scene, "feedback.led"),
                       "There is no LED " + in_quotes(name) + ", so its cues are never seen.");
    std::vector<std::string_view> names;
    std::string list;
    for (const LedFacts& led : *scene.facts->leds) {
        names.push_back(led.name);
        list += (list.empty() ? "" : ", ") + led.name;
    }
    finding.evidence = {"/sys/class/leds has " + (list.empty() ? "none" : list)};
    const auto near = nightlatch::nearest(name, names);
    finding.remedy = near ? "led = " + in_quotes(*near, uncut)
                          : "Take one of these names, or add a gpio-leds node to the device tree.";
}

/// Whose the line is by the tree; empty when nobody's.
std::string owner_in_tree(const Scene& scene, const devicetree::GpioLine& line) {
    for (const devicetree::PostHaltNode& node : scene.inventory.post_halt) {
        if (node.enabled && node.line && node.line->same_line(line)) {
            return "it is the post-halt line of " + scene.tree->path_of(node.node);
        }
    }
    const std::vector<Claim> claims = claims_on(scene, line);
    return claims.empty()
               ? ""
               : scene.tree->path_of(claims.front().node) + " has it: " + claims.front().what;
}

/// Who the line belongs to, when it is not free for a cue; empty when it is.
std::string holder_of(const Scene& scene, const PlacedLine& line) {
    for (const InputLine& input : scene.inputs) {
        if (input.placed && same_line(line, *input.placed)) {
            return "it is " + input.what;
        }
    }
    if (scene.post_halt && same_line(line, *scene.post_halt)) {
        return "it is the post-halt line";
    }
    if (const auto there = in_tree(line)) {
        if (std::string owner = owner_in_tree(scene, *there); !owner.empty()) {
            return owner;
        }
    }
    if (line.live != nullptr && line.live->used && line.live->consumer != "nightlatch") {
        return "the kernel calls its holder " + in_quotes(line.live->consumer);
    }
    return {};
}

}  // namespace

Judgement led_is_there(const Scene& scene) {
    if (scene.settings == nullptr) {
        return CannotTell{missing_config(scene)};
    }
    const auto leds = outputs<config::LedName>(scene);
    if (leds.empty()) {
        return no_led;
    }
    if (!scene.facts->leds) {
        return CannotTell{scene.facts->leds.what_is_missing()};
    }
    Findings findings;
    for (const auto& [led, feedback] : leds) {
        if (led_named(scene, led->name) == nullptr) {
            say_no_led(scene, led->name, findings);
        }
    }
    return findings.or_pass("each configured LED is there");
}

Judgement led_is_writable(const Scene& scene) {
    Findings findings;
    std::string unknown;
    for (const auto& [led, feedback] : outputs<config::LedName>(scene)) {
        const LedFacts& live = *led_named(scene, led->name);
        if (!live.writable_by_service) {
            unknown = live.writable_by_service.what_is_missing();
        } else if (!*live.writable_by_service) {
            Finding& finding =
                findings.error("/sys/class/leds/" + led->name,
                               "The service may not write to the LED, so its cues are never seen.");
            finding.evidence = {"its files are not writable for the service's account"};
            finding.remedy =
                "The udev rule of the package gives the LED's files to the service; see "
                "that it is installed and ran: udevadm trigger --subsystem-match=leds";
        }
    }
    if (findings.empty() && !unknown.empty()) {
        return CannotTell{unknown};
    }
    return findings.or_pass("the service may write to each configured LED");
}

Judgement led_stays_at_shutdown(const Scene& scene) {
    if (scene.settings == nullptr) {
        return CannotTell{missing_config(scene)};
    }
    if (scene.tree == nullptr) {
        return CannotTell{missing_tree(scene)};
    }
    constexpr auto leaving = static_cast<std::size_t>(core::CueName::leaving);
    Findings findings;
    bool judged = false;
    for (const auto& [led, feedback] : outputs<config::LedName>(scene)) {
        const devicetree::Led* const node = node_of(scene, led->name);
        if (node == nullptr || feedback->looks.by_cue[leaving].kind == core::PatternKind::off) {
            continue;
        }
        judged = true;
        if (!node->stays_at_shutdown) {
            const std::string path = scene.tree->path_of(node->node);
            Finding& finding = findings.note(path,
                                             "At the very end of a shutdown the kernel switches "
                                             "this LED off, so the person sees "
                                             "the cue `leaving` end before the supply goes off.");
            finding.evidence = {path + " has no retain-state-shutdown"};
            finding.remedy = change_remedy(scene, node->node, {"retain-state-shutdown;"});
        }
    }
    if (!judged) {
        return NotApplicable{"no LED of the tree's gpio-leds shows the cue leaving"};
    }
    return findings.or_pass("the LED stays as it is at the end of a shutdown");
}

Judgement cue_line_is_free(const Scene& scene) {
    if (scene.settings == nullptr) {
        return CannotTell{missing_config(scene)};
    }
    const auto lines = outputs<config::FeedbackLine>(scene);
    if (lines.empty()) {
        return NotApplicable{"no [[feedback]] names a line"};
    }
    Findings findings;
    std::string unknown;
    for (const auto& [line, feedback] : lines) {
        const Known<PlacedLine> placed = place_line(scene, line->where);
        const std::string why = placed ? holder_of(scene, *placed) : placed.what_is_missing();
        if (!placed && !scene.facts->chips) {
            unknown = why;
        } else if (!why.empty()) {
            Finding& finding = findings.error(config_place(scene, "feedback.line"),
                                              "The line " + in_quotes(line->where.line) +
                                                  " is not available for cues: " + why + ".");
            finding.evidence = {placed ? text_of(*placed) : "the chips as they are now"};
            finding.remedy = "See which lines there are and which are free: nightlatch lines";
        } else if (placed->live == nullptr) {
            unknown = scene.facts->chips.what_is_missing();
        }
    }
    if (findings.empty() && !unknown.empty()) {
        return CannotTell{unknown};
    }
    return findings.or_pass("each feedback line is there and free");
}

}  // namespace nightlatch::audit::cues
