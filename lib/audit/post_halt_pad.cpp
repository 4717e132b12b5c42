// SPDX-License-Identifier: MIT
#include "audit/claims.hpp"
#include "audit/pad.hpp"
#include "audit/post_halt.hpp"
#include "audit/remedy.hpp"
#include "audit/say.hpp"
#include "base/text.hpp"
#include "devicetree/values.hpp"

#include <algorithm>

namespace nightlatch::audit::post_halt {
namespace {

using devicetree::GpioLine;
using devicetree::NodeId;
using devicetree::Pad;
using devicetree::PadSetting;

/// The pin as pinctrl has it now; null when it cannot be seen.
const lines::Pin* live_pin(const Scene& scene, const GpioLine& line) {
    if (!scene.facts->pins || !scene.facts->chips) {
        return nullptr;
    }
    const std::string path = scene.tree->path_of(line.controller);
    const lines::Pin* found = nullptr;
    for (const lines::Chip& chip : *scene.facts->chips) {
        if (chip.node == path) {
            const lines::Pin* const pin = lines::pin_of(*scene.facts->pins, chip, line.offset);
            found = pin == nullptr ? found : pin;
        }
    }
    return found;
}

/// A device of the tree's node, by the name that the kernel gives it: "supply-release",
/// "soc:supply-release", "9050000.serial" [linux drivers/of/platform.c].
bool is_device_of(const Scene& scene, NodeId node, const std::string& device) {
    const std::string& name = scene.tree->node(node).name;
    const std::string plain = name.substr(0, name.find('@'));
    return device == plain || device.ends_with(":" + plain) || device.ends_with("." + plain);
}

/// Pinctrl names no device, the post-halt node's, or the controller's own list ("hog").
bool is_free_for_us(const Scene& scene, const lines::Pin& pin) {
    return pin.mux_owner.empty() || pin.mux_owner == pin.controller ||
           is_device_of(scene, scene.node->node, pin.mux_owner) || pin.function == "gpio" ||
           pin.function == "gpio_in" || pin.function == "gpio_out";
}

std::string live_text(const lines::Pin& pin) {
    return pin.controller + " pin " + std::to_string(pin.pin) + " (" + pin.name +
           ") now: " + (pin.mux_owner.empty() ? "nobody's" : pin.mux_owner) +
           (pin.function.empty() ? "" : ", function " + pin.function);
}

std::string evidence_of(const Scene& scene, const PadSetting& setting) {
    return scene.tree->path_of(setting.user) + "/pinctrl-0 names " +
           scene.tree->path_of(setting.group) + ": pin " + std::to_string(setting.row.pin) + ", " +
           setting.row.function;
}

/// Another node's pinctrl-0 has the pad.
void say_taken(const Scene& scene, const PadSetting& setting, Findings& findings) {
    const std::string path = scene.tree->path_of(setting.user);
    const std::string line = text_of(scene, *scene.node->line);
    const std::string both =
        path + " sets the pad of the post-halt line " + line + " to " + setting.row.function;
    // By the tree alone, as the service sees it too: what pinctrl shows is root's.
    Finding& finding =
        setting.row.gpio.has_value()
            ? findings.error(path,
                             both + ": its signal is on the supply's release until the driver has "
                                    "the line, and for good if that device comes later.")
            : findings.warning(path,
                               both + ", which may not be GPIO: its signal may be on the supply's "
                                      "release.");
    finding.evidence = {evidence_of(scene, setting)};
    if (const lines::Pin* const pin = live_pin(scene, *scene.node->line)) {
        finding.evidence.push_back(live_text(*pin));
    }
    finding.remedy = "Take another line; or, if nothing needs that device, switch it off. " +
                     change_remedy(scene, setting.user, {"status = \"disabled\";"});
}

void say_own(const Scene& scene, const PadSetting& setting, Findings& findings) {
    const std::string path = scene.tree->path_of(scene.node->node);
    Finding& finding =
        findings.error(path,
                       "The pad of the post-halt line " + text_of(scene, *scene.node->line) +
                           " is set to " + setting.row.function +
                           ", which is not GPIO: the kernel raises the line, and its pad "
                           "does not follow.");
    finding.evidence = {evidence_of(scene, setting)};
    finding.remedy = "Correct the row in that group: its mux has to be the pad's GPIO function.";
}

void say_live(const Scene& scene, const lines::Pin& pin, Findings& findings) {
    Finding& finding =
        findings.warning(text_of(scene, *scene.node->line),
                         "The pad of the post-halt line serves another function now, for " +
                             in_quotes(pin.mux_owner) + ": its signal is on the supply's release.");
    finding.evidence = {live_text(pin)};
    finding.remedy = "Disable that device's node, or use another line.";
}

/// A request leaves the pad as it is, and nothing in the tree sets it.
void say_not_set(const Scene& scene, const Pad& pad, Findings& findings) {
    const GpioLine& line = *scene.node->line;
    const std::string path = scene.tree->path_of(scene.node->node);
    const bool has_state = devicetree::has(*scene.tree, scene.node->node, "pinctrl-0");
    Finding& finding = findings.warning(
        path,
        "Nothing sets the pad of " + text_of(scene, line) +
            " to GPIO: on this controller the kernel's request leaves the pad as reset or the boot "
            "loader left it, and the line may move nothing.");
    finding.evidence = {path + (has_state ? "/pinctrl-0 sets other pads" : " has no pinctrl-0")};
    if (pad.pinctrl != devicetree::no_node) {
        finding.evidence.push_back("the pad is pin " + std::to_string(pad.pin.value_or(0)) +
                                   " of " + scene.tree->path_of(pad.pinctrl));
    }
    finding.remedy = pad_remedy(scene, *scene.node);
}

/// Looks at who sets the pad in the tree; true when the node itself, or a list, sets it to GPIO.
bool look_at_settings(const Scene& scene, const Pad& pad, Findings& findings) {
    bool set = false;
    for (const PadSetting& setting : pad.settings) {
        const bool ours = setting.user == scene.node->node || setting.user == pad.pinctrl;
        set = set || (ours && setting.row.gpio.value_or(true));
        if (setting.row.gpio.value_or(false)) {
            set = true;
        } else if (!ours) {
            say_taken(scene, setting, findings);
        } else if (setting.row.gpio.has_value()) {
            say_own(scene, setting, findings);
        }
    }
    return set;
}

std::string controller_kind(const Scene& scene, NodeId node) {
    return in_quotes(devicetree::text(*scene.tree, node, "compatible").value_or("?"));
}

}  // namespace

Judgement pad_is_gpio(const Scene& scene) {
    if (!scene.node->line) {
        return NotApplicable{"the node's line cannot be resolved"};
    }
    const GpioLine& line = *scene.node->line;
    const Pad pad = devicetree::pad_of(*scene.tree, line);
    const lines::Pin* const pin = live_pin(scene, line);
    Findings findings;
    // What pinctrl has done for the node itself it did by the node's own group.
    const bool done = pin != nullptr && !pin->mux_owner.empty() && is_free_for_us(scene, *pin);
    const bool set = look_at_settings(scene, pad, findings) || done;
    const bool has_state = devicetree::has(*scene.tree, scene.node->node, "pinctrl-0");
    if (findings.empty() && pin != nullptr && !is_free_for_us(scene, *pin)) {
        say_live(scene, *pin, findings);
    }
    const bool readable = pad.pin && pad.form != devicetree::PadForm::unknown;
    if (findings.empty() && !set && !pad.request_switches && (readable || !has_state)) {
        say_not_set(scene, pad, findings);
    }
    if (pin != nullptr || readable) {
        return findings.or_pass(set ? "the pad of " + text_of(scene, line) + " is set to GPIO"
                                    : "nobody sets the pad of " + text_of(scene, line) +
                                          " to another function");
    }
    return findings.or_else(CannotTell{
        "what the pad of " + text_of(scene, line) + " is set to: how " +
        controller_kind(scene, pad.pinctrl == devicetree::no_node ? line.controller : pad.pinctrl) +
        " writes its pads is not known here (the running kernel shows it to root, below "
        "/sys/kernel/debug/pinctrl)"});
}

Judgement is_driven_both_ways(const Scene& scene) {
    if (!scene.node->line) {
        return NotApplicable{"the node's line cannot be resolved"};
    }
    const GpioLine& line = *scene.node->line;
    if ((line.flags & devicetree::flag_single_ended) == 0) {
        return Pass{"the kernel drives both levels"};
    }
    const bool drain = (line.flags & devicetree::flag_open_drain) != 0;
    const bool after_halt = drain != line.active_low();  // the level that is only let go
    const std::string path = scene.tree->path_of(scene.node->node);
    const std::string level = drain ? "high" : "low";
    Findings findings;
    Finding& finding = findings.warning(
        path,
        std::string("The line is open ") + (drain ? "drain" : "source") +
            (after_halt ? ": after halt it is only released, and "
                        : ": while the board runs it is only released, and ") +
            (drain ? "only a pull-up makes it high." : "only a pull-down makes it low."));
    finding.evidence = {path + "/gpios: " + text_of(scene, line) + ", flags " +
                        std::to_string(line.flags)};
    finding.remedy = "Make sure that a resistor pulls the line " + level +
                     ", to a supply that is still there then; or take the flag out:\n" +
                     post_halt_remedy(scene, &*scene.node);
    return findings.or_pass({});
}

}  // namespace nightlatch::audit::post_halt
