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

/// An input line in the tree, or why there is none to look for.
struct Looked {
    std::optional<GpioLine> line;
    std::string missing;
};

Looked look(const Scene& scene, const InputLine& input) {
    if (scene.tree == nullptr) {
        return {std::nullopt, missing_tree(scene)};
    }
    if (!input.placed) {
        return {std::nullopt, input.placed.what_is_missing()};
    }
    const std::optional<GpioLine> line = in_tree(*input.placed);
    return {line, line ? "" : "the device-tree node of " + input.placed->chip};
}

/// The boot file's line that loads the overlay, where one of that kind is loaded.
std::string overlay_remedy(const Scene& scene, std::initializer_list<std::string_view> names) {
    for (const bootfiles::OverlayUse* const use : boot_overlays(scene)) {
        if (use->certainty != bootfiles::Certainty::no &&
            std::find(names.begin(), names.end(), use->name) != names.end()) {
            return "Take line " + std::to_string(use->place.line) + " (" + use->name + ") out of " +
                   safe(use->place.file) + ", and reboot.";
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

/// What a rule makes of a claim on an input line.
struct ClaimWords {
    std::initializer_list<ClaimKind> kinds;
    std::initializer_list<std::string_view> overlays;  ///< that make such a claim
    std::string (*sentence)(const std::string& line, const std::string& claim);
    const char* pass;  ///< "no key of the device tree": is on none of the lines
};

bool is_of(const Claim& claim, std::initializer_list<ClaimKind> kinds) {
    return std::find(kinds.begin(), kinds.end(), claim.kind) != kinds.end();
}

/// An input whose line is known.
struct Input {
    const InputLine& of;
    const GpioLine& line;
};

void find_claims(const Scene& scene,
                 const Input& input,
                 const ClaimWords& words,
                 Findings& findings) {
    for (const Claim& claim : claims_on(scene, input.line)) {
        if (!is_of(claim, words.kinds)) {
            continue;
        }
        const std::string path = scene.tree->path_of(claim.node);
        Finding& finding = findings.error(path, words.sentence(input.of.what, claim.what));
        finding.evidence = {path + ": " + text_of(scene, input.line)};
        finding.remedy = disable_remedy(scene, claim.node, words.overlays);
    }
}

Judgement judge_claims(const Scene& scene, const ClaimWords& words) {
    Findings findings;
    std::string missing;
    for (const InputLine& input : scene.inputs) {
        const Looked looked = look(scene, input);
        if (looked.line) {
            find_claims(scene, {input, *looked.line}, words, findings);
        } else if (missing.empty()) {
            missing = looked.missing;
        }
    }
    if (!missing.empty()) {
        return findings.or_else(CannotTell{missing});
    }
    return findings.or_pass(std::string(words.pass) + " is on " + input_lines(scene));
}

/// By [post_halt] or by the tree; nothing when neither says where the post-halt line is.
std::optional<bool> is_post_halt_line(const Scene& scene, const PlacedLine& placed) {
    const std::optional<GpioLine> line = in_tree(placed);
    if (scene.post_halt && same_line(placed, *scene.post_halt)) {
        return true;
    }
    for (const devicetree::PostHaltNode& node : scene.inventory.post_halt) {
        if (line && node.line && node.line->same_line(*line)) {
            return true;
        }
    }
    return scene.post_halt || (line && scene.tree != nullptr) ? std::optional(false) : std::nullopt;
}

}  // namespace

std::string opening(const InputLine& input) {
    return "T" + input.what.substr(1);
}

std::string input_lines(const Scene& scene) {
    return scene.inputs.size() > 1 ? "the button's line or an alarm's" : "the button's line";
}

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
    Findings findings;
    std::string missing;
    for (const InputLine& input : scene.inputs) {
        const auto same = input.placed ? is_post_halt_line(scene, *input.placed) : std::nullopt;
        if (!same) {
            missing = input.placed ? "where the post-halt line is" : input.placed.what_is_missing();
        } else if (*same) {
            Finding& finding = findings.error(
                config_place(scene, std::string(input.key) + ".line"),
                opening(input) + " is the post-halt line: the kernel drives it, and " +
                    (input.key == std::string_view("button")
                         ? "a press would short it."
                         : "what drives the alarm works against it."));
            finding.evidence = {text_of(*input.placed)};
            finding.remedy = "Give each its own line, in the wiring and in the configuration.";
        }
    }
    if (!missing.empty()) {
        return findings.or_else(CannotTell{missing});
    }
    return findings.or_pass(scene.inputs.size() > 1 ? "no input line is the post-halt line"
                                                    : "the button and the post-halt line are two");
}

Judgement is_no_key(const Scene& scene) {
    return judge_claims(
        scene,
        {{ClaimKind::key},
         {"gpio-shutdown", "gpio-key"},
         [](const std::string& line, const std::string& claim) {
             return "The kernel's key driver has " + line + ": " + claim +
                    ". We cannot read it then, and a power key switches off at once, whatever the "
                    "hold time.";
         },
         "no key of the device tree"});
}

Judgement is_no_led(const Scene& scene) {
    return judge_claims(scene,
                        {{ClaimKind::led},
                         {"gpio-led"},
                         [](const std::string& line, const std::string& claim) {
                             return "The kernel drives " + line + " as " + claim +
                                    ": it cannot be read, and what else drives it, as a press "
                                    "does, may short the output.";
                         },
                         "no LED of the device tree"});
}

Judgement nobody_else_claims_it(const Scene& scene) {
    return judge_claims(scene,
                        {{ClaimKind::hog, ClaimKind::other},
                         {"gpio-hog", "gpio-fan"},
                         [](const std::string& line, const std::string& claim) {
                             return "The device tree gives " + line + " away: " + claim +
                                    ". Whoever is first keeps the other out.";
                         },
                         "no hog and no other device of the tree"});
}

namespace {

void say_held(const InputLine& input, Findings& findings) {
    const lines::Line& live = *input.placed->live;
    Finding& finding =
        findings.error(text_of(*input.placed),
                       "Somebody else holds " + input.what + ", so the service cannot have it.");
    finding.evidence = {"the kernel calls the holder " + in_quotes(live.consumer) +
                        (live.output ? ", and the line is an output" : "")};
    finding.remedy = "Stop the program or unload the driver that holds it; or use another line.";
}

}  // namespace

Judgement is_free(const Scene& scene) {
    Findings findings;
    std::string missing;
    std::size_t ours = 0;
    for (const InputLine& input : scene.inputs) {
        const lines::Line* const live = input.placed ? input.placed->live : nullptr;
        if (live == nullptr) {
            missing = input.placed ? scene.facts->chips.what_is_missing()
                                   : input.placed.what_is_missing();
        } else if (live->used && live->consumer == own_consumer) {
            ++ours;
        } else if (live->used) {
            say_held(input, findings);
        }
    }
    if (!missing.empty()) {
        return findings.or_else(CannotTell{missing});
    }
    return findings.or_pass(ours > 0 ? "our own service holds it" : "nobody holds it");
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
