// SPDX-License-Identifier: MIT
// Overlays that take a line of ours.
#include "audit/boot_rules.hpp"
#include "base/text.hpp"
#include "lines/find.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::audit {
namespace {

using bootfiles::Certainty;
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

/// `ours`: the line that is taken from the service; null where it is the post-halt line.
void judge_taken(const OverlayUse& use,
                 const Taken& taken,
                 const OpenedLine* ours,
                 Findings& findings) {
    const bool drives = taking(use)->drives;
    const std::string who = "the overlay " + use.name + on_condition(taken.condition);
    Finding& finding = add_certain(
        findings,
        taken.condition.empty() ? Certainty::yes : Certainty::depends,
        text_of(use.place),
        ours != nullptr
            ? who + " takes " + ours->what +
                  (drives && ours->is_input ? " and can drive it against what drives it now" : "") +
                  ": the service then finds it held by the kernel, and " + ours->without
            : who + " takes the post-halt line" + (drives ? " and drives it" : "") +
                  ": the kernel's post-halt driver then cannot have it");
    finding.evidence = {text_of(use.place) + ": " + text_of(use),
                        "line " + std::to_string(taken.line) + " is " +
                            (ours != nullptr ? ours->what : "the post-halt line")};
    finding.remedy = "take the overlay out of " + safe(use.place.file) +
                     ", or give it another line (" + std::string(taking(use)->parameter) +
                     "=…), then reboot";
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
        const OpenedLine* const opened = opened_line(ours, taken.line);
        const bool may_have_it = is_post_halt_overlay(use);
        if (opened != nullptr || (!may_have_it && is_line(ours.post_halt, taken.line))) {
            judge_taken(use, taken, opened, findings);
        } else if (const std::string unknown = what_is_missing(ours.opened); !unknown.empty()) {
            missing = unknown;
        } else if (!ours.post_halt && !may_have_it) {
            missing = ours.post_halt.what_is_missing();
        }
    }
    return missing;
}

}  // namespace

bool is_line(const ConfigNumber& ours, unsigned line) {
    return ours && *ours == std::optional<unsigned>{line};
}

const OpenedLine* opened_line(const OurNumbers& ours, unsigned line) {
    const auto one = std::find_if(ours.opened.begin(), ours.opened.end(), [&](const OurLine& each) {
        return is_line(each.number, line);
    });
    return one == ours.opened.end() ? nullptr : &one->line;
}

namespace {

/// The labels of the controllers that config.txt counts on [linux drivers/pinctrl/bcm/
/// pinctrl-bcm2835.c, drivers/pinctrl/pinctrl-rp1.c of raspberrypi/linux]; that it is the first
/// chip is so on all of the family [raspberrypi/linux pull request 6144].
constexpr std::array<std::string_view, 5> counted_chips{
    "pinctrl-bcm2835", "pinctrl-bcm2711", "pinctrl-rp1", "gpiochip0", "/dev/gpiochip0"};

/// Without a tree and chips, by the configuration's words alone: the family's lines are called by
/// their numbers, or "GPIO17" [raspberrypi/linux pull request 5902].
ConfigNumber number_by_words(const lines::LineName& where) {
    constexpr std::string_view start = "GPIO";
    const std::string_view line = where.line;
    const auto number =
        lines::offset_in(line.starts_with(start) ? line.substr(start.size()) : line);
    const bool counted =
        std::find(counted_chips.begin(), counted_chips.end(), where.chip) != counted_chips.end();
    if (!number || !counted) {
        return ConfigNumber::missing("which of the text's numbers is line " +
                                     in_quotes(where.line) + " of the chip " +
                                     in_quotes(where.chip));
    }
    return std::optional<unsigned>{*number};
}

OurNumbers numbers_by_words(const Scene& scene) {
    OurNumbers ours{{}, ConfigNumber::missing("chip and line of [post_halt]")};
    std::vector<OpenedLine> opened = opened_lines(scene);
    std::size_t at = 0;
    for (const NamedLine& named : lines_of(*scene.settings)) {
        if (std::string_view(named.key) == "post_halt") {
            ours.post_halt = number_by_words(named.where);
        } else {
            ours.opened.push_back({std::move(opened.at(at)), number_by_words(named.where)});
            ++at;
        }
    }
    return ours;
}

}  // namespace

OurNumbers our_numbers(const Scene& scene) {
    if (scene.settings != nullptr && scene.facts->source == Source::image &&
        scene.tree == nullptr) {
        return numbers_by_words(scene);
    }
    OurNumbers ours{{}, config_number(scene, scene.post_halt)};
    for (OpenedLine& line : opened_lines(scene)) {
        const ConfigNumber number = config_number(scene, line.placed);
        ours.opened.push_back({std::move(line), number});
    }
    if (!scene.post_halt && scene.node != nullptr && scene.node->line) {
        PlacedLine there;
        there.chip = scene.tree->path_of(scene.node->line->controller);
        there.controller = scene.node->line->controller;
        there.offset = scene.node->line->offset;
        ours.post_halt = config_number(scene, there);
    }
    return ours;
}

std::string what_is_missing(const std::vector<OurLine>& opened) {
    for (const OurLine& ours : opened) {
        if (!ours.number) {
            return ours.number.what_is_missing();
        }
    }
    return {};
}

Finding& add_certain(Findings& findings,
                     Certainty certainty,
                     std::string place,
                     std::string sentence) {
    return certainty == Certainty::yes ? findings.error(std::move(place), std::move(sentence))
                                       : findings.warning(std::move(place), std::move(sentence));
}

std::string on_condition(const std::string& condition) {
    return condition.empty() ? "" : ", if " + condition + ",";
}

Judgement judge_boot_key_overlay(const Scene& scene) {
    if (std::optional<Judgement> none = no_boot_text(scene)) {
        return *std::move(none);
    }
    const OurNumbers ours = our_numbers(scene);
    Findings findings;
    std::string missing;
    for (const LoadedOverlay& loaded : all_overlays(scene)) {
        const TakingOverlay* const overlay = taking(*loaded.use);
        if (overlay == nullptr || loaded.intent->loader != bootfiles::Loader::config_txt ||
            is_replaced(loaded)) {
            continue;
        }
        const std::string why = judge_taking(ours, *loaded.use, *overlay, findings);
        missing = why.empty() ? missing : why;
    }
    if (!missing.empty()) {
        return findings.or_else(CannotTell{missing});
    }
    return findings.or_pass(
        "no overlay that the text loads takes a line of the service or the post-halt line");
}

}  // namespace nightlatch::audit
