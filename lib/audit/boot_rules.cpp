// SPDX-License-Identifier: MIT
// What a boot loader's text asks for, against what the machine has: the text explains the tree.
#include "audit/boot_rules.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::audit {
namespace {

using bootfiles::Certainty;
using bootfiles::OverlayUse;
using bootfiles::RemarkKind;

/// Those that do not apply, too.
std::vector<LoadedOverlay> post_halt_uses(const Scene& scene) {
    std::vector<LoadedOverlay> uses;
    for (const bootfiles::Intent& intent : *scene.facts->boot) {
        for (const OverlayUse& use : intent.overlays) {
            uses.push_back({&intent, &use});
        }
    }
    std::erase_if(uses, [](const LoadedOverlay& one) { return !is_post_halt_overlay(*one.use); });
    return uses;
}

bool has_post_halt_node(const Scene& scene) {
    const auto& nodes = scene.inventory.post_halt;
    return std::any_of(nodes.begin(), nodes.end(), [](const auto& node) { return node.enabled; });
}

std::string not_for_this_board(const LoadedOverlay& loaded) {
    return (loaded.intent->loader == bootfiles::Loader::config_txt
                ? "the post-halt overlay stands in a section that is not for this board: "
                : "the post-halt overlay's line does not hold: ") +
           loaded.use->condition + "; this board's supply stays connected after a power-off";
}

std::string remedy_of_condition(const bootfiles::Intent& intent) {
    switch (intent.loader) {
    case bootfiles::Loader::config_txt:
        return "move the line where it always holds, below [all]; then reboot";
    case bootfiles::Loader::env_txt:
        return "keep one such line with all the names, as the boot script reads it; then reboot";
    case bootfiles::Loader::extlinux:
        return "move the line where it always holds, into the default label; then reboot";
    }
    return {};
}

void judge_condition(const LoadedOverlay& loaded, bool booted, Findings& findings) {
    const OverlayUse& use = *loaded.use;
    const bool depends = use.certainty == Certainty::depends;
    if (booted && !depends) {
        return;  // the node is there by another way: this line is for another board
    }
    const std::string sentence =
        !depends ? not_for_this_board(loaded)
        : booted ? "the post-halt overlay was loaded at this boot, but that depends on " +
                       use.condition + ": another boot may come up without it"
                 : "whether the post-halt overlay is loaded depends on " + use.condition +
                       ": without it the supply stays connected after a power-off";
    Finding& finding = booted ? findings.note(text_of(use.place), sentence)
                              : findings.warning(text_of(use.place), sentence);
    finding.evidence = {text_of(use.place) + ": " + text_of(use)};
    finding.remedy = remedy_of_condition(*loaded.intent);
}

Judgement judge_section(const Scene& scene) {
    if (std::optional<Judgement> none = no_boot_text(scene)) {
        return *std::move(none);
    }
    const std::vector<LoadedOverlay> uses = post_halt_uses(scene);
    if (uses.empty()) {
        return NotApplicable{"no boot loader's text asks for a post-halt overlay"};
    }
    for (const LoadedOverlay& loaded : uses) {
        if (loaded.use->certainty == Certainty::yes) {
            return Pass{text_of(loaded.use->place) +
                        " asks for the post-halt overlay whatever the boot"};
        }
    }
    const bool booted = has_post_halt_node(scene);
    Findings findings;
    for (const LoadedOverlay& loaded : uses) {
        judge_condition(loaded, booted, findings);
    }
    return findings.or_pass("the running tree has its post-halt node by another way");
}

std::vector<bootfiles::Remark> remarks_of(const Scene& scene, std::span<const RemarkKind> kinds) {
    std::vector<bootfiles::Remark> found;
    for (const bootfiles::Intent& intent : *scene.facts->boot) {
        std::copy_if(intent.remarks.begin(),
                     intent.remarks.end(),
                     std::back_inserter(found),
                     [&](const bootfiles::Remark& remark) {
                         return std::find(kinds.begin(), kinds.end(), remark.kind) != kinds.end();
                     });
    }
    return found;
}

/// Remarks of the text's reader, each a finding.
Judgement judge_remarks(const Scene& scene,
                        std::span<const RemarkKind> kinds,
                        std::string_view remedy,
                        std::string passed) {
    if (std::optional<Judgement> none = no_boot_text(scene)) {
        return *std::move(none);
    }
    Findings findings;
    for (const bootfiles::Remark& remark : remarks_of(scene, kinds)) {
        // What stands twice works as the last one says: it need not be a mistake.
        Finding& finding = remark.kind == RemarkKind::repeated
                               ? findings.note(text_of(remark.place), remark.text)
                               : findings.warning(text_of(remark.place), remark.text);
        finding.remedy = remedy;
    }
    return findings.or_pass(std::move(passed));
}

Judgement judge_cut(const Scene& scene) {
    constexpr std::array kinds{RemarkKind::cut};
    return judge_remarks(
        scene,
        kinds,
        "break the line: parameters of an overlay can stand below it, each in a dtparam= line",
        "no line is longer than its boot loader reads");
}

Judgement judge_parameter(const Scene& scene) {
    constexpr std::array kinds{RemarkKind::unknown_parameter, RemarkKind::unknown_overlay};
    return judge_remarks(scene,
                         kinds,
                         "correct the name, then reboot",
                         "every overlay that is known here, and its parameters, are spelt right");
}

Judgement judge_malformed(const Scene& scene) {
    constexpr std::array kinds{RemarkKind::malformed,
                               RemarkKind::repeated,
                               RemarkKind::not_found,
                               RemarkKind::too_deep,
                               RemarkKind::too_long};
    return judge_remarks(
        scene, kinds, "correct it, then reboot", "every line of the text was understood");
}

constexpr std::array rules{
    Rule{"boot-differs",
         Group::boot,
         "The running tree has the post-halt node that the boot loader's text asks for",
         "The text takes effect at the next boot: until then the machine switches off as the "
         "running tree says. A post-halt overlay that was added is not there yet, one that was "
         "changed has its old line, polarity and delays [raspberrypi/documentation config_txt; "
         "raspberrypi/linux arch/arm/boot/dts/overlays/README, gpio-poweroff].",
         {},
         judge_boot_differs},
    Rule{"boot-section",
         Group::boot,
         "The post-halt overlay is loaded at every boot of this board",
         "A line of config.txt holds only in its section, for a model, a line's level or a serial "
         "number, up to the next [all]; one of extlinux.conf only for its label "
         "[raspberrypi/documentation config_txt/conditional; U-Boot doc/README.pxe].",
         {},
         judge_section},
    Rule{"boot-cut",
         Group::boot,
         "No line of the boot loader's text is longer than it reads",
         "The firmware reads 98 characters of a line of config.txt and ignores the rest, so that "
         "the last parameters of an overlay are lost without a word "
         "[raspberrypi/documentation config_txt/what_is_config_txt].",
         {},
         judge_cut},
    Rule{"boot-parameter",
         Group::boot,
         "The overlays and their parameters are spelt as the firmware has them",
         "The firmware skips an overlay that is not there, and a parameter that it does not have; "
         "the names differ from overlay to overlay: gpiopin, gpio_pin, gpio. The default line is "
         "then taken in the place of the one that was meant [raspberrypi/firmware issue 1661].",
         {},
         judge_parameter},
    Rule{"boot-malformed",
         Group::boot,
         "The boot loader's text has no line that is ignored",
         "A boot loader skips what it does not understand, and says so on a serial console at "
         "most [raspberrypi/documentation config_txt/what_is_config_txt; U-Boot doc/README.pxe].",
         {},
         judge_malformed},
    Rule{"boot-key-overlay",
         Group::boot,
         "No overlay takes a line of the service, or the post-halt line",
         "A line that a driver of the kernel holds cannot be requested a second time: a key "
         "overlay on the button's line shuts the service out, and with a power key the login "
         "manager acts on the first touch; an alarm's line that is taken is watched by nobody; "
         "any overlay on the post-halt line shuts the post-halt driver out "
         "[raspberrypi/linux arch/arm/boot/dts/overlays/README; Linux include/uapi/linux/gpio.h].",
         {},
         judge_boot_key_overlay},
    Rule{"boot-early-line",
         Group::boot,
         "The firmware leaves our lines at rest until the kernel takes them",
         "gpio= lines set pins before the kernel runs. The post-halt line driven or pulled to its "
         "active level then lets the supply go in the middle of the boot; the button's or an "
         "alarm's line as an output is shorted by what is at its other end "
         "[raspberrypi/documentation config_txt/gpio].",
         {},
         judge_boot_early_line},
    Rule{"boot-asks",
         Group::boot,
         "Something in the image asks for a post-halt line",
         "Without a post-halt node the kernel has no line to raise, and hardly a board's own tree "
         "has one: a boot loader's text has to load it "
         "[linux Documentation/devicetree/bindings/power/reset/gpio-poweroff.yaml; "
         "raspberrypi/linux arch/arm/boot/dts/overlays/README, gpio-poweroff].",
         {},
         judge_boot_asks},
    Rule{"boot-line",
         Group::boot,
         "The text asks for the line, the polarity and the pulse of [post_halt]",
         "The next boot makes the post-halt node of this text. With another line or the other "
         "polarity the supply is not released after halt, or released while the board runs "
         "[raspberrypi/linux arch/arm/boot/dts/overlays/gpio-poweroff-overlay.dts; linux "
         "include/dt-bindings/gpio/gpio.h].",
         {},
         judge_boot_line},
    Rule{"boot-overlay-file",
         Group::boot,
         "Every overlay that the text loads is there",
         "A boot loader that does not find an overlay goes on without it, and says so on a serial "
         "console at most [raspberrypi/documentation configuration/device-tree.adoc, Debugging; "
         "armbian/build config/bootscripts; U-Boot doc/README.pxe].",
         {},
         judge_boot_overlay_file},
    Rule{"boot-repeated",
         Group::boot,
         "No two lines of the text set one post-halt node",
         "An overlay that is loaded twice sets its one node twice: the last states line and "
         "polarity, and a delay that only the first states stays "
         "[raspberrypi/linux arch/arm/boot/dts/overlays/gpio-poweroff-overlay.dts; "
         "Devicetree overlays: linux Documentation/devicetree/overlay-notes.rst].",
         {},
         judge_boot_repeated},
    Rule{"boot-lasts",
         Group::boot,
         "No update takes the post-halt line out of the boot loader's text",
         "Debian's raspi-firmware writes config.txt anew with every kernel and firmware, from "
         "/etc/default/raspi-firmware-custom; its u-boot-menu writes extlinux.conf, from the "
         "overlays in /boot/dtbo. What a person adds to those files is gone then, and the text "
         "says so at its top [Debian raspi-firmware, z50-raspi-firmware; Debian u-boot-menu, "
         "u-boot-update(8)].",
         {},
         judge_boot_lasts},
};

}  // namespace

std::span<const Rule> boot_rules() {
    return rules;
}

}  // namespace nightlatch::audit
