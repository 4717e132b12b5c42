// SPDX-License-Identifier: MIT
// What a boot loader's text asks for, against [post_halt]; and whether it asks at all, and lasts.
#include "audit/boot_rules.hpp"
#include "audit/remedy_place.hpp"
#include "base/text.hpp"
#include "bootfiles/overlay_line.hpp"
#include "lines/find.hpp"

#include <algorithm>

namespace nightlatch::audit {
namespace {

using bootfiles::Certainty;
using bootfiles::FileSeen;
using bootfiles::Intent;
using bootfiles::Loader;
using bootfiles::OverlayUse;
using bootfiles::Writer;

constexpr unsigned driver_active_ms = 100;

/// What [post_halt] states of it.
struct Stated {
    std::string line;                ///< as the configuration has it
    ConfigNumber number;             ///< as config.txt counts
    std::optional<unsigned> offset;  ///< as the line's own controller counts
    const Scene* scene = nullptr;
    bool active_low = false;
    std::optional<unsigned> pulse_ms;
};

Known<Stated> stated(const Scene& scene) {
    if (scene.settings == nullptr || !scene.settings->post_halt.where ||
        !scene.settings->post_halt.active_low) {
        return Known<Stated>::missing("chip, line and active of [post_halt]");
    }
    Stated stated;
    stated.scene = &scene;
    stated.line = scene.settings->post_halt.where->line;
    stated.number = our_numbers(scene).post_halt;
    stated.offset =
        scene.post_halt ? std::optional(scene.post_halt->offset) : lines::offset_in(stated.line);
    stated.active_low = *scene.settings->post_halt.active_low;
    if (scene.pulse) {
        stated.pulse_ms = static_cast<unsigned>(
            std::chrono::ceil<std::chrono::milliseconds>(scene.pulse->pulse).count());
    }
    return stated;
}

std::string level_of(bool active_low) {
    return active_low ? "active low" : "active high";
}

/// What the text, or its overlay, makes of the line.
struct Asked {
    std::optional<unsigned> line;
    bool active_low = false;
    unsigned active_ms = driver_active_ms;
    Certainty certainty{};
    const Intent* intent = nullptr;
    const OverlayUse* use = nullptr;
};

std::string line_remedy(const Asked& asked, const Stated& stated) {
    if (is_parametric(*asked.intent, *asked.use) && stated.number && *stated.number) {
        return "make it, in the place of that line and the dtparam lines that follow it:\n    " +
               bootfiles::post_halt_config_line(
                   {**stated.number, stated.active_low, stated.pulse_ms});
    }
    return "correct the node's line and flags in the overlay's source, compile it anew, and put it "
           "in the place of " +
           safe(asked.use->content.where.empty() ? asked.use->name : asked.use->content.where) +
           "; or correct [post_halt], if the circuit is wired as the overlay says";
}

void add_difference(const Asked& asked,
                    const Stated& stated,
                    std::string what,
                    Findings& findings) {
    Finding& finding =
        add_certain(findings, asked.certainty, text_of(asked.use->place), std::move(what));
    finding.evidence = {text_of(asked.use->place) + ": " + text_of(*asked.use),
                        "[post_halt] line = " + in_quotes(stated.line) + ", " +
                            level_of(stated.active_low)};
    finding.remedy = line_remedy(asked, stated);
}

/// "" when the lines are the same, or differ, which is told; else what is missing to know.
std::string compare_lines(const Asked& asked, const Stated& stated, Findings& findings) {
    const std::string text = "the text asks for ";
    const std::string moves = ": after halt another line moves, and the supply stays connected";
    if (!asked.line) {
        return "which line the overlay " + asked.use->name + " means by its controller's count";
    }
    const std::string theirs = "line " + std::to_string(*asked.line);
    if (is_parametric(*asked.intent, *asked.use)) {
        if (!stated.number) {
            return stated.number.what_is_missing();
        }
        if (!*stated.number) {
            add_difference(asked,
                           stated,
                           text + theirs +
                               " of the main controller, and [post_halt] is on another: "
                               "the supply stays connected after a power-off",
                           findings);
        } else if (**stated.number != *asked.line) {
            add_difference(asked,
                           stated,
                           text + theirs + ", and [post_halt] is line " +
                               std::to_string(**stated.number) + moves,
                           findings);
        }
        return {};
    }
    if (stated.offset && *stated.offset != *asked.line) {
        add_difference(asked,
                       stated,
                       "the overlay drives " + theirs + ", and [post_halt] is line " +
                           std::to_string(*stated.offset) + moves,
                       findings);
        return {};
    }
    const Known<std::string> elsewhere = other_controller(*stated.scene, *asked.use);
    if (elsewhere && !elsewhere->empty()) {
        add_difference(asked,
                       stated,
                       "the overlay drives " + theirs + " of " + *elsewhere +
                           ", and [post_halt] is on another controller" + moves,
                       findings);
    }
    return elsewhere ? "" : elsewhere.what_is_missing();
}

std::string compare(const Asked& asked, const Stated& stated, Findings& findings) {
    std::string missing = compare_lines(asked, stated, findings);
    if (asked.active_low != stated.active_low) {
        add_difference(asked,
                       stated,
                       "the text asks for " + level_of(asked.active_low) + ", and [post_halt] is " +
                           level_of(stated.active_low) +
                           ": the circuit is released while the board runs, and held after halt",
                       findings);
    }
    if (stated.pulse_ms && asked.active_ms < *stated.pulse_ms) {
        Finding& finding = findings.warning(
            text_of(asked.use->place),
            "the text asks for a first pulse of " + std::to_string(asked.active_ms) +
                " ms, and the circuit needs " + std::to_string(*stated.pulse_ms) + " ms");
        finding.evidence = {text_of(asked.use->place) + ": " + text_of(*asked.use)};
        finding.remedy = line_remedy(asked, stated);
    }
    return missing;
}

Asked asked_by_file(const Intent& intent, const OverlayUse& use) {
    const bootfiles::PostHaltSeen& seen = *use.content.post_halt;
    return {seen.offset, seen.active_low, seen.active_ms, use.certainty, &intent, &use};
}

/// Of one use: what it asks for, nothing when a later one takes its place, or what is missing.
Result<std::optional<Asked>, std::string> asked_by(const LoadedOverlay& loaded) {
    const auto& [intent, use] = loaded;
    if (is_replaced(loaded)) {
        return std::optional<Asked>{};
    }
    if (is_parametric(*intent, *use)) {
        const Result<OverlayNode, std::string> node = node_in_force(loaded);
        if (!node) {
            return Unexpected{node.error()};
        }
        return std::optional(
            Asked{node->offset, node->active_low, node->active_ms, use->certainty, intent, use});
    }
    if (use->content.post_halt) {
        return std::optional(asked_by_file(*intent, *use));
    }
    return Unexpected{"what is in the overlay " + use->name +
                      (use->content.where.empty() ? "" : " (" + use->content.where + ")")};
}

std::string read_texts(const Scene& scene) {
    std::string texts;
    for (const Intent& intent : *scene.facts->boot) {
        texts += (texts.empty() ? "" : ", ") + intent.file;
    }
    return texts.empty() ? "there is no boot loader's text of a kind that is read here"
                         : "read were " + texts;
}

std::string remedy_for_none(const Scene& scene) {
    const Known<Stated> wanted = stated(scene);
    for (const Intent& intent : *scene.facts->boot) {
        if (intent.loader == Loader::config_txt && wanted && wanted->number && *wanted->number) {
            return "add at the end of " + lasting_file(intent) + ":\n    [all]\n    " +
                   bootfiles::post_halt_config_line(
                       {**wanted->number, wanted->active_low, wanted->pulse_ms});
        }
    }
    return "the exact text for its board, by the board's own tree, which the image has among its "
           "kernel's files:\n    nightlatch audit --tree BOARD.dtb --config FILE "
           "--only post-halt-node";
}

void add_missing_file(const LoadedOverlay& loaded, Findings& findings) {
    const auto& [intent, use] = loaded;
    const std::string place = text_of(use->place);
    const bool ours = is_post_halt_overlay(*use);
    const std::string sentence = "the overlay " + use->name + on_condition(use->condition) +
                                 " is not there, and the boot loader goes on without it";
    Finding& finding =
        ours ? add_certain(findings,
                           use->certainty,
                           place,
                           sentence + ": after a power-off the supply stays connected")
             : findings.note(place, sentence);
    finding.evidence = {place + ": " + text_of(*use), "looked for " + use->content.where};
    finding.remedy =
        ours ? "compile its source to that place:\n    " + compile_command(safe(use->name)) +
                   "\nThe source for this board: nightlatch audit --tree BOARD.dtb --config "
                   "FILE --only post-halt-node" +
                   (use->name == "gpio-poweroff"
                        ? "\n(of the parametric one: arch/arm/boot/dts/overlays/"
                          "gpio-poweroff-overlay.dts of the kernel at raspberrypi/linux)"
                        : "")
             : "put the file there, or take the line out";
}

}  // namespace

bool is_parametric(const Intent& intent, const OverlayUse& use) {
    return intent.loader == Loader::config_txt && use.name == "gpio-poweroff";
}

std::string lasting_file(const Intent& intent) {
    return intent.writer == Writer::raspi_firmware
               ? "/etc/default/raspi-firmware-custom, from which " + safe(intent.file) +
                     " is written anew at every update, and until then also of that file"
               : safe(intent.file);
}

bool is_replaced(const LoadedOverlay& loaded) {
    const Intent& intent = *loaded.intent;
    if (!is_parametric(intent, *loaded.use)) {
        return false;
    }
    const auto later = intent.overlays.begin() + (loaded.use - intent.overlays.data()) + 1;
    return std::any_of(later, intent.overlays.end(), [&](const OverlayUse& one) {
        return is_parametric(intent, one) && one.certainty == Certainty::yes;
    });
}

Judgement judge_boot_line(const Scene& scene) {
    if (std::optional<Judgement> none = no_boot_text(scene)) {
        return *std::move(none);
    }
    Findings findings;
    std::string seen;
    std::string missing;
    const Known<Stated> wanted = stated(scene);
    for (const LoadedOverlay& loaded : all_overlays(scene)) {
        if (!is_post_halt_overlay(*loaded.use)) {
            continue;
        }
        if (!wanted) {
            return CannotTell{wanted.what_is_missing()};
        }
        const auto asked = asked_by(loaded);
        const std::string why = !asked   ? asked.error()
                                : *asked ? compare(**asked, *wanted, findings)
                                         : "";
        missing = why.empty() ? missing : why;
        seen = text_of(loaded.use->place);
    }
    if (seen.empty()) {
        return NotApplicable{"no boot loader's text asks for a post-halt overlay"};
    }
    if (!missing.empty()) {
        return findings.or_else(CannotTell{missing});
    }
    return findings.or_pass(seen + " asks for the line and the polarity of [post_halt]");
}

Judgement judge_boot_asks(const Scene& scene) {
    const auto& nodes = scene.inventory.post_halt;
    const bool in_tree =
        std::any_of(nodes.begin(), nodes.end(), [](const auto& node) { return node.enabled; });
    if (scene.facts->source != Source::image || in_tree) {
        return NotApplicable{"the device tree itself says whether there is a post-halt line"};
    }
    if (!scene.facts->boot) {
        return CannotTell{scene.facts->boot.what_is_missing()};
    }
    std::string missing;
    for (const LoadedOverlay& loaded : all_overlays(scene)) {
        if (is_post_halt_overlay(*loaded.use)) {
            return Pass{text_of(loaded.use->place) + " asks for a post-halt line"};
        }
        if (loaded.use->content.seen == FileSeen::not_looked) {
            missing = "whether the overlay " + loaded.use->name +
                      ", whose file could not be read, "
                      "adds a post-halt line";
        }
    }
    if (!missing.empty()) {
        return CannotTell{missing};
    }
    Findings findings;
    Finding& finding = findings.warning(
        "",
        "nothing in this image asks for a post-halt line: unless the board's own tree has one, the "
        "supply stays connected after a power-off");
    finding.evidence = {read_texts(scene)};
    finding.remedy = remedy_for_none(scene);
    return findings.or_pass("");
}

Judgement judge_boot_overlay_file(const Scene& scene) {
    if (std::optional<Judgement> none = no_boot_text(scene)) {
        return *std::move(none);
    }
    Findings findings;
    std::string missing;
    for (const LoadedOverlay& loaded : all_overlays(scene)) {
        if (loaded.use->content.seen == FileSeen::missing) {
            add_missing_file(loaded, findings);
        } else if (loaded.use->content.seen == FileSeen::not_looked) {
            missing =
                "whether the overlay " + loaded.use->name + " is there" +
                (loaded.use->content.where.empty() ? ": where it lies is up to the boot script"
                                                   : " (" + loaded.use->content.where + ")");
        }
    }
    if (!missing.empty()) {
        return findings.or_else(CannotTell{missing});
    }
    return findings.or_pass("every overlay that the text loads is there");
}

Judgement judge_boot_repeated(const Scene& scene) {
    if (std::optional<Judgement> none = no_boot_text(scene)) {
        return *std::move(none);
    }
    Findings findings;
    std::string missing;
    for (const LoadedOverlay& loaded : all_overlays(scene)) {
        const auto& [intent, use] = loaded;
        if (use->certainty != Certainty::yes || !is_replaced(loaded)) {
            continue;
        }
        const LoadedOverlay last = last_of_node(*intent);
        const Result<OverlayNode, std::string> node = node_in_force(last);
        if (!node) {
            missing = node.error();
            continue;
        }
        Finding& finding = findings.warning(
            text_of(use->place),
            "two lines set one node, power_ctrl: the last, " + text_of(last.use->place) +
                ", holds, so that the post-halt line is line " + std::to_string(node->offset) +
                ", " + level_of(node->active_low));
        finding.evidence = {text_of(use->place) + ": " + text_of(*use),
                            text_of(last.use->place) + ": " + text_of(*last.use)};
        finding.remedy = "take the line out, with the dtparam lines that follow it; see whether it "
                         "is the last that is meant";
    }
    if (!missing.empty()) {
        return findings.or_else(CannotTell{missing});
    }
    return findings.or_pass("no two lines of the text set one post-halt node");
}

Judgement judge_boot_lasts(const Scene& scene) {
    if (std::optional<Judgement> none = no_boot_text(scene)) {
        return *std::move(none);
    }
    Findings findings;
    for (const LoadedOverlay& loaded : all_overlays(scene)) {
        const auto& [intent, use] = loaded;
        if (use->lasts || !is_post_halt_overlay(*use)) {
            continue;
        }
        Finding& finding = findings.warning(
            text_of(use->place),
            "a program writes " + intent->file +
                " anew at every update of kernel or boot loader, and this line is then gone: from "
                "that day on the supply stays connected after a power-off");
        finding.evidence = {text_of(use->place) + ": " + text_of(*use)};
        finding.remedy = intent->writer == Writer::raspi_firmware
                             ? "add the same line to /etc/default/raspi-firmware-custom, which is "
                               "taken over at every update"
                             : "copy the overlay to /boot/dtbo/ (with U_BOOT_FDT_OVERLAYS= set in "
                               "/etc/default/u-boot, name it there), then: sudo u-boot-update";
    }
    return findings.or_pass("no update writes what asks for the post-halt line anew");
}

}  // namespace nightlatch::audit
