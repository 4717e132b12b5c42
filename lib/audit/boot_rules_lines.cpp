// SPDX-License-Identifier: MIT
// What a boot loader's text does to the button's line and to the post-halt line.
#include "audit/boot_rules.hpp"
#include "audit/say.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::audit {
namespace {

using bootfiles::Certainty;
using bootfiles::EarlyLine;
using bootfiles::OverlayUse;

/// Overlays that take one line, with the parameter that says which and its default
/// [raspberrypi/linux arch/arm/boot/dts/overlays/README].
struct TakingOverlay {
    std::string_view name;
    std::string_view parameter;
    unsigned line = 0;
    bool drives = false;  ///< makes it an output
};

constexpr std::array taking_overlays{TakingOverlay{"gpio-shutdown", "gpio_pin", 3, false},
                                     TakingOverlay{"gpio-key", "gpio", 3, false},
                                     TakingOverlay{"gpio-led", "gpio", 19, true},
                                     TakingOverlay{"gpio-fan", "gpiopin", 12, true},
                                     TakingOverlay{"gpio-hog", "gpio", 26, true},
                                     TakingOverlay{"w1-gpio", "gpiopin", 4, true},
                                     TakingOverlay{"gpio-poweroff", "gpiopin", 26, true}};

const TakingOverlay* taking(const OverlayUse& use) {
    const auto* const it =
        std::find_if(taking_overlays.begin(), taking_overlays.end(), [&](const TakingOverlay& one) {
            return one.name == use.name;
        });
    return it == taking_overlays.end() ? nullptr : it;
}

/// A line that an overlay takes, if the condition holds; "" when nothing depends.
struct Taken {
    unsigned line = 0;
    std::string condition;
};

/// The lines that it may take, or nothing when the text gives no number.
std::vector<Taken> lines_taken(const TakingOverlay& overlay, const OverlayUse& use) {
    std::vector<Taken> lines{{overlay.line, use.condition}};
    for (const bootfiles::Parameter& parameter : use.parameters) {
        if (parameter.name != overlay.parameter) {
            continue;
        }
        const std::optional<unsigned> line =
            parameter.value.empty() ? std::nullopt : parameter_number(parameter);
        if (!line) {
            return {};
        }
        if (parameter.certainty == Certainty::yes) {
            lines = {{*line, use.condition}};
        } else {
            lines.front().condition = "not " + parameter.condition;
            lines.push_back({*line, parameter.condition});
        }
    }
    return lines;
}

/// The two lines that matter, as config.txt counts, and what is missing to know them.
struct OurNumbers {
    Known<std::optional<unsigned>> button;
    Known<std::optional<unsigned>> post_halt;
};

bool is(const Known<std::optional<unsigned>>& ours, unsigned line) {
    return ours && *ours == std::optional<unsigned>{line};
}

/// What [post_halt] says, else what the tree's node has.
OurNumbers our_numbers(const Scene& scene) {
    OurNumbers ours{config_number(scene, scene.button), config_number(scene, scene.post_halt)};
    if (!scene.post_halt && scene.node != nullptr && scene.node->line) {
        PlacedLine there;
        there.chip = scene.tree->path_of(scene.node->line->controller);
        there.controller = scene.node->line->controller;
        there.offset = scene.node->line->offset;
        ours.post_halt = config_number(scene, there);
    }
    return ours;
}

std::string what_is_missing(const OurNumbers& ours) {
    return ours.button ? ours.post_halt.what_is_missing() : ours.button.what_is_missing();
}

Finding& add(Findings& findings, Certainty certainty, std::string place, std::string sentence) {
    return certainty == Certainty::yes ? findings.error(std::move(place), std::move(sentence))
                                       : findings.warning(std::move(place), std::move(sentence));
}

std::string on_condition(const std::string& condition) {
    return condition.empty() ? "" : ", if " + condition + ",";
}

void judge_taken(const OverlayUse& use, const Taken& taken, bool of_button, Findings& findings) {
    const bool drives = taking(use)->drives;
    const std::string who = "the overlay " + use.name + on_condition(taken.condition);
    Finding& finding =
        add(findings,
            taken.condition.empty() ? Certainty::yes : Certainty::depends,
            text_of(use.place),
            of_button ? who + " takes the button's line" +
                            (drives ? " and can drive it against the closed button" : "") +
                            ": the service then finds it held by the kernel, and the button is dead"
                      : who + " takes the post-halt line" + (drives ? " and drives it" : "") +
                            ": the kernel's post-halt driver then cannot have it");
    finding.evidence = {text_of(use.place) + ": " + text_of(use),
                        "line " + std::to_string(taken.line) +
                            (of_button ? " is the button's" : " is the post-halt line")};
    finding.remedy = "take the overlay out of " + use.place.file + ", or give it another line (" +
                     std::string(taking(use)->parameter) + "=…), then reboot";
}

/// What is missing to judge it, if anything is.
std::string judge_taking(const OurNumbers& ours,
                         const OverlayUse& use,
                         const TakingOverlay& overlay,
                         Findings& findings) {
    const std::vector<Taken> lines = lines_taken(overlay, use);
    std::string missing;
    if (lines.empty()) {
        missing = "which line " + text_of(use) + " in " + text_of(use.place) + " takes";
    }
    for (const Taken& taken : lines) {
        if (is(ours.button, taken.line)) {
            judge_taken(use, taken, true, findings);
        } else if (!is_post_halt_overlay(use) && is(ours.post_halt, taken.line)) {
            judge_taken(use, taken, false, findings);
        } else if (!ours.button || (!ours.post_halt && !is_post_halt_overlay(use))) {
            missing = what_is_missing(ours);
        }
    }
    return missing;
}

/// Of entries for one line the later holds, so an entry that a later one replaces is nothing.
bool is_replaced(const std::vector<EarlyLine>& lines, std::size_t at) {
    return std::any_of(lines.begin() + static_cast<std::ptrdiff_t>(at) + 1,
                       lines.end(),
                       [&](const EarlyLine& later) {
                           return later.line == lines[at].line && later.certainty == Certainty::yes;
                       });
}

std::string shown(const EarlyLine& line) {
    std::string options;
    const auto option = [&](bool is_there, std::string_view text) {
        if (is_there) {
            options += (options.empty() ? "" : ",") + std::string(text);
        }
    };
    option(line.input, "ip");
    option(line.output, "op");
    option(line.drive == EarlyLine::Drive::high, "dh");
    option(line.drive == EarlyLine::Drive::low, "dl");
    option(line.pull == EarlyLine::Pull::up, "pu");
    option(line.pull == EarlyLine::Pull::down, "pd");
    option(line.pull == EarlyLine::Pull::none, "pn");
    return "gpio=" + std::to_string(line.line) + "=" + options;
}

void judge_early_button(const EarlyLine& line, Findings& findings) {
    if (!line.output) {
        return;
    }
    Finding& finding = add(findings,
                           line.certainty,
                           text_of(line.place),
                           "the firmware" + on_condition(line.condition) +
                               " makes the button's line an output: pressed, the button shorts a "
                               "driven pin, which can destroy it");
    finding.evidence = {text_of(line.place) + ": " + shown(line)};
    finding.remedy = "change op to ip in that line, or take the line out, before anybody presses";
}

void judge_early_post_halt(const EarlyLine& line, bool active_low, Findings& findings) {
    const auto active_drive = active_low ? EarlyLine::Drive::low : EarlyLine::Drive::high;
    const auto active_pull = active_low ? EarlyLine::Pull::down : EarlyLine::Pull::up;
    const std::string firmware = "the firmware" + on_condition(line.condition);
    const std::string evidence = text_of(line.place) + ": " + shown(line);
    if (line.output && line.drive == active_drive) {
        Finding& finding = add(findings,
                               line.certainty,
                               text_of(line.place),
                               firmware + " drives the post-halt line active while it boots: the "
                                          "circuit lets go as soon as the button does");
        finding.evidence = {evidence,
                            std::string("the line is active ") + (active_low ? "low" : "high")};
        finding.remedy = std::string("change it to op,") + (active_low ? "dh" : "dl");
    } else if (line.output && line.drive == EarlyLine::Drive::unstated) {
        Finding& finding = findings.warning(
            text_of(line.place),
            firmware + " makes the post-halt line an output and does not say at which level");
        finding.evidence = {evidence};
        finding.remedy = std::string("say op,") + (active_low ? "dh" : "dl");
    } else if (!line.output && line.pull == active_pull) {
        Finding& finding = findings.warning(
            text_of(line.place),
            firmware + " pulls the post-halt line to its active level until the kernel's driver "
                       "takes it: that feeds the hold capacitor and can drop the supply as soon "
                       "as the finger lifts");
        finding.evidence = {evidence};
        finding.remedy = std::string("change the pull to ") + (active_low ? "pu" : "pd");
    }
}

/// The level at which the circuit lets go: as [post_halt] says, else as the tree's node has it.
std::optional<bool> post_halt_active_low(const Scene& scene) {
    if (scene.settings != nullptr && scene.settings->post_halt.active_low) {
        return scene.settings->post_halt.active_low;
    }
    if (scene.node != nullptr && scene.node->line) {
        return scene.node->line->active_low();
    }
    return std::nullopt;
}

}  // namespace

Judgement judge_boot_key_overlay(const Scene& scene) {
    if (std::optional<Judgement> none = no_boot_text(scene)) {
        return *std::move(none);
    }
    const OurNumbers ours = our_numbers(scene);
    Findings findings;
    std::string missing;
    for (const bootfiles::Intent& intent : *scene.facts->boot) {
        if (intent.loader != bootfiles::Loader::config_txt) {
            continue;
        }
        for (const OverlayUse& use : intent.overlays) {
            const TakingOverlay* const overlay = taking(use);
            if (overlay == nullptr || use.certainty == Certainty::no) {
                continue;
            }
            const std::string why = judge_taking(ours, use, *overlay, findings);
            missing = why.empty() ? missing : why;
        }
    }
    if (!missing.empty()) {
        return findings.or_else(CannotTell{missing});
    }
    return findings.or_pass("no overlay that the text loads takes either line");
}

Judgement judge_boot_early_line(const Scene& scene) {
    if (std::optional<Judgement> none = no_boot_text(scene)) {
        return *std::move(none);
    }
    const OurNumbers ours = our_numbers(scene);
    const std::optional<bool> active_low = post_halt_active_low(scene);
    Findings findings;
    std::string missing;
    for (const bootfiles::Intent& intent : *scene.facts->boot) {
        for (std::size_t i = 0; i < intent.early_lines.size(); ++i) {
            const EarlyLine& line = intent.early_lines[i];
            if (line.certainty == Certainty::no || is_replaced(intent.early_lines, i)) {
                continue;
            }
            if (is(ours.button, line.line)) {
                judge_early_button(line, findings);
            } else if (is(ours.post_halt, line.line) && active_low) {
                judge_early_post_halt(line, *active_low, findings);
            } else if (is(ours.post_halt, line.line)) {
                missing = "at which level the circuit lets go ([post_halt] active)";
            } else if (!ours.button || !ours.post_halt) {
                missing = what_is_missing(ours);
            }
        }
    }
    if (!missing.empty()) {
        return findings.or_else(CannotTell{missing});
    }
    return findings.or_pass("no gpio= line drives or pulls either line the wrong way");
}

}  // namespace nightlatch::audit
