// SPDX-License-Identifier: MIT
#include "audit/button.hpp"
#include "audit/claims.hpp"
#include "audit/lines_named.hpp"
#include "audit/remedy.hpp"
#include "audit/say.hpp"
#include "base/text.hpp"
#include "config/diagnostic.hpp"
#include "devicetree/values.hpp"
#include "lines/find.hpp"

#include <algorithm>

namespace nightlatch::audit::button {
namespace {

using devicetree::GpioLine;

/// What the daemon gives the kernel as the line's consumer.
constexpr std::string_view own_consumer = "nightlatch";

void say_several_chips(const Scene& scene,
                       const NamedLine& line,
                       const lines::NotOne& not_one,
                       Findings& findings) {
    Finding& finding = findings.error(config_place(scene, std::string(line.key) + ".chip"),
                                      "Several chips are labelled " + in_quotes(line.where.chip) +
                                          ": which one is meant cannot be known.");
    for (const std::size_t candidate : not_one.candidates) {
        finding.evidence.push_back(lines::text_of((*scene.facts->chips)[candidate]));
    }
    finding.remedy = "Give the chip's name or path instead, as it stands above.";
}

void say_several_lines(const Scene& scene,
                       const NamedLine& line,
                       std::vector<std::string> several,
                       Findings& findings) {
    Finding& finding = findings.error(config_place(scene, std::string(line.key) + ".line"),
                                      "Several lines are named " + in_quotes(line.where.line) +
                                          ": which one is meant cannot be known.");
    finding.evidence = std::move(several);
    finding.remedy = "Give the line's offset instead of its name.";
}

/// Chips that carry a label, and lines of one chip that carry a name, when it is several.
void say_ambiguous(const Scene& scene, const NamedLine& line, Findings& findings) {
    const auto chip = lines::find_chip(*scene.facts->chips, line.where.chip);
    if (!chip) {
        if (chip.error().why == lines::Why::several_chips) {
            say_several_chips(scene, line, chip.error(), findings);
        }
        return;
    }
    const lines::Chip& found = (*scene.facts->chips)[*chip];
    const auto offset = lines::find_line(found, line.where.line);
    if (!offset && offset.error().why == lines::Why::several_lines) {
        std::vector<std::string> several;
        for (const std::size_t candidate : offset.error().candidates) {
            several.push_back(found.name + " line " + std::to_string(candidate));
        }
        say_several_lines(scene, line, std::move(several), findings);
    }
}

/// The button's line in the tree, or why there is none to look for.
struct Looked {
    std::optional<GpioLine> line;
    std::string missing;
};

Looked look(const Scene& scene) {
    if (scene.tree == nullptr) {
        return {std::nullopt, missing_tree(scene)};
    }
    const std::optional<GpioLine> line = in_tree(*scene.button);
    return {line, line ? "" : "the device-tree node of " + scene.button->chip};
}

/// The boot file's line that loads the overlay, where one of that kind is loaded.
std::string overlay_remedy(const Scene& scene, std::initializer_list<std::string_view> names) {
    for (const bootfiles::OverlayUse* const use : boot_overlays(scene)) {
        if (use->certainty != bootfiles::Certainty::no &&
            std::find(names.begin(), names.end(), use->name) != names.end()) {
            return "Take line " + std::to_string(use->place.line) + " (" + use->name + ") out of " +
                   use->place.file + ", and reboot.";
        }
    }
    return {};
}

std::string disable_remedy(const Scene& scene,
                           devicetree::NodeId node,
                           std::initializer_list<std::string_view> overlays) {
    std::string text = overlay_remedy(scene, overlays);
    return text.empty() ? change_remedy(scene, node, {"status = \"disabled\";"}) : text;
}

std::vector<Claim> claims_of(const Scene& scene, const GpioLine& line, ClaimKind kind) {
    std::vector<Claim> claims = claims_on(scene, line);
    std::erase_if(claims, [&](const Claim& claim) { return claim.kind != kind; });
    return claims;
}

}  // namespace

Judgement names_are_unambiguous(const Scene& scene) {
    if (scene.settings == nullptr) {
        return CannotTell{missing_config(scene)};
    }
    if (!scene.facts->chips) {
        return scene.button ? Judgement{Pass{"the device tree has one line of the button's name"}}
                            : Judgement{CannotTell{scene.facts->chips.what_is_missing()}};
    }
    Findings findings;
    for (const NamedLine& line : lines_of(*scene.settings)) {
        say_ambiguous(scene, line, findings);
    }
    return findings.or_pass("each chip and line that the configuration names is one");
}

Judgement line_is_there(const Scene& scene) {
    if (scene.button) {
        return Pass{text_of(*scene.button)};
    }
    if (scene.settings == nullptr || !scene.facts->chips) {
        return CannotTell{scene.button.what_is_missing()};
    }
    Findings findings;
    Finding& finding =
        findings.error(config_place(scene, "button.line"),
                       "The button's line is not there: " + scene.button.what_is_missing() + ".");
    finding.remedy = "See which chips and lines there are: nightlatch lines";
    return findings.or_pass({});
}

Judgement is_not_the_post_halt_line(const Scene& scene) {
    const std::optional<GpioLine> line = in_tree(*scene.button);
    const bool by_config = scene.post_halt && same_line(*scene.button, *scene.post_halt);
    bool by_tree = false;
    for (const devicetree::PostHaltNode& node : scene.inventory.post_halt) {
        by_tree = by_tree || (line && node.line && node.line->same_line(*line));
    }
    Findings findings;
    if (by_config || by_tree) {
        Finding& finding =
            findings.error(config_place(scene, "button.line"),
                           "The button's line is the post-halt line: the kernel drives it, and a "
                           "press would short it.");
        finding.evidence = {text_of(*scene.button)};
        finding.remedy = "Give each its own line, in the wiring and in the configuration.";
    }
    if (findings.empty() && !scene.post_halt && !(line && scene.tree != nullptr)) {
        return CannotTell{"where the post-halt line is"};
    }
    return findings.or_pass("the button and the post-halt line are two");
}

Judgement is_no_key(const Scene& scene) {
    const Looked looked = look(scene);
    if (!looked.line) {
        return CannotTell{looked.missing};
    }
    Findings findings;
    for (const Claim& claim : claims_of(scene, *looked.line, ClaimKind::key)) {
        const std::string path = scene.tree->path_of(claim.node);
        Finding& finding = findings.error(
            path,
            "The kernel's key driver has the button's line: " + claim.what +
                ". We cannot read it then, and a press of a power key switches off at once, "
                "whatever the hold time.");
        finding.evidence = {path + ": " + text_of(scene, *looked.line)};
        finding.remedy = disable_remedy(scene, claim.node, {"gpio-shutdown", "gpio-key"});
    }
    return findings.or_pass("no key of the device tree is on the button's line");
}

Judgement is_no_led(const Scene& scene) {
    const Looked looked = look(scene);
    if (!looked.line) {
        return CannotTell{looked.missing};
    }
    Findings findings;
    for (const Claim& claim : claims_of(scene, *looked.line, ClaimKind::led)) {
        const std::string path = scene.tree->path_of(claim.node);
        Finding& finding =
            findings.error(path,
                           "The kernel drives the button's line as " + claim.what +
                               ": it cannot be read, and a press may short the output.");
        finding.evidence = {path + ": " + text_of(scene, *looked.line)};
        finding.remedy = disable_remedy(scene, claim.node, {"gpio-led"});
    }
    return findings.or_pass("no LED of the device tree is on the button's line");
}

Judgement nobody_else_claims_it(const Scene& scene) {
    const Looked looked = look(scene);
    if (!looked.line) {
        return CannotTell{looked.missing};
    }
    Findings findings;
    for (const ClaimKind kind : {ClaimKind::hog, ClaimKind::other}) {
        for (const Claim& claim : claims_of(scene, *looked.line, kind)) {
            const std::string path = scene.tree->path_of(claim.node);
            Finding& finding =
                findings.error(path,
                               "The device tree gives the button's line away: " + claim.what +
                                   ". Whoever is first keeps the other out.");
            finding.evidence = {path + ": " + text_of(scene, *looked.line)};
            finding.remedy = disable_remedy(scene, claim.node, {"gpio-hog", "gpio-fan"});
        }
    }
    return findings.or_pass("no hog and no other device of the tree is on the button's line");
}

Judgement is_free(const Scene& scene) {
    const lines::Line* const live = scene.button->live;
    if (live == nullptr) {
        return CannotTell{scene.facts->chips.what_is_missing()};
    }
    if (live->used && live->consumer == own_consumer) {
        return Pass{"our own service holds it"};
    }
    Findings findings;
    if (live->used) {
        Finding& finding = findings.error(text_of(*scene.button),
                                          "Somebody else holds the button's line, so the service "
                                          "cannot have it.");
        finding.evidence = {"the kernel calls the holder " + in_quotes(live->consumer) +
                            (live->output ? ", and the line is an output" : "")};
        finding.remedy =
            "Stop the program or unload the driver that holds it; or use another line.";
    }
    return findings.or_pass("nobody holds it");
}

namespace {

void say_numbered(const Scene& scene, const NamedLine& line, Findings& findings) {
    const std::vector<lines::Chip>& chips = *scene.facts->chips;
    const auto found = lines::find_chip(chips, line.where.chip);
    if (!found || !lines::has_own_label(chips, *found)) {
        return;
    }
    const lines::Chip& chip = chips[*found];
    Finding& finding = findings.warning(
        config_place(scene, std::string(line.key) + ".chip"),
        "The chip is named by its number, which another kernel may give to another chip.");
    finding.evidence = {chip.name + " has the label " + in_quotes(chip.label)};
    finding.remedy = "chip = " + in_quotes(chip.label, uncut);
}

}  // namespace

Judgement chips_are_named_by_label(const Scene& scene) {
    if (scene.settings == nullptr) {
        return CannotTell{missing_config(scene)};
    }
    Findings findings;
    bool unseen = false;
    for (const NamedLine& line : lines_of(*scene.settings)) {
        if (!lines::by_number(line.where.chip)) {
            continue;
        }
        if (scene.facts->chips) {
            say_numbered(scene, line, findings);
        } else {
            unseen = true;
        }
    }
    if (findings.empty() && unseen) {
        return CannotTell{scene.facts->chips.what_is_missing()};
    }
    return findings.or_pass("no chip that has a label is named by its number");
}

}  // namespace nightlatch::audit::button
