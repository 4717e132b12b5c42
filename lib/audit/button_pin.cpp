// SPDX-License-Identifier: MIT
#include "audit/button.hpp"
#include "audit/claims.hpp"
#include "audit/remedy.hpp"
#include "audit/say.hpp"
#include "base/duration_text.hpp"
#include "base/text.hpp"
#include "config/diagnostic.hpp"
#include "config/words.hpp"
#include "core/limits.hpp"

#include <algorithm>

namespace nightlatch::audit::button {
namespace {

using lines::Chip;

const Chip* chip_of(const Scene& scene, const PlacedLine& line) {
    if (!scene.facts->chips) {
        return nullptr;
    }
    const std::vector<Chip>& chips = *scene.facts->chips;
    const auto it = std::find_if(
        chips.begin(), chips.end(), [&](const Chip& chip) { return chip.name == line.chip_name; });
    return it == chips.end() ? nullptr : &*it;
}

constexpr bool is_power_code(unsigned code) {
    return code == 116 || code == 356;
}

bool has_key_of(const Scene& scene, const InputLine& input, const std::string& node) {
    const auto line = input.placed ? in_tree(*input.placed) : std::nullopt;
    return line && std::any_of(scene.inventory.keys.begin(),
                               scene.inventory.keys.end(),
                               [&](const devicetree::Key& key) {
                                   const auto parent = scene.tree->node(key.node).parent;
                                   return key.enabled && key.line && key.line->same_line(*line) &&
                                          scene.tree->path_of(parent) == node;
                               });
}

/// Is it a key of an input line? Then is_no_key() speaks of it.
bool is_our_key(const Scene& scene, const PowerKeySource& source) {
    return scene.tree != nullptr && !source.node.empty() &&
           std::any_of(scene.inputs.begin(), scene.inputs.end(), [&](const InputLine& input) {
               return has_key_of(scene, input, source.node);
           });
}

bool suppressed(const std::string& block_inhibited) {
    const std::string list = ":" + block_inhibited + ":";
    return list.find(":handle-power-key:") != std::string::npos;
}

std::string codes_of(const PowerKeySource& source) {
    std::string text;
    for (const unsigned code : source.codes) {
        text += (text.empty() ? "" : ", ") + key_name(code);
    }
    return text;
}

void say_power_key(const PowerKeySource& source, const std::string& handle, Findings& findings) {
    Finding& finding =
        findings.warning("/dev/input/" + source.device,
                         "The login manager acts on the power key of " + in_quotes(source.name) +
                             " at its press, without a hold time and whatever our button does.");
    finding.evidence = {"it has udev's tag power-switch and sends " + codes_of(source),
                        "HandlePowerKey = " + handle};
    finding.remedy = "If this key shall not switch off, write into "
                     "/etc/systemd/logind.conf.d/power-key.conf, and restart systemd-logind:\n"
                     "    [Login]\n    HandlePowerKey=ignore";
}

void say_other_key(const PowerKeySource& source, Findings& findings) {
    Finding& finding = findings.note("/dev/input/" + source.device,
                                     "The login manager watches " + in_quotes(source.name) +
                                         ", which can suspend or restart the board.");
    finding.evidence = {"it has udev's tag power-switch and sends " + codes_of(source)};
    finding.remedy = "See HandleSuspendKey, HandleHibernateKey and HandleRebootKey in "
                     "logind.conf(5).";
}

}  // namespace

namespace {

void say_function(const InputLine& input, const lines::Pin& pin, Findings& findings) {
    Finding& finding =
        findings.error(text_of(*input.placed),
                       "The pin of " + input.what +
                           " serves another function now: requesting the line takes it away from " +
                           in_quotes(pin.mux_owner) + ", or fails.");
    finding.evidence = {pin.controller + " pin " + std::to_string(pin.pin) + " (" + pin.name +
                        "): " + pin.mux_owner +
                        (pin.function.empty() ? "" : ", function " + pin.function)};
    finding.remedy = "Disable that device's node, or use another line. Caution: the pin may "
                     "belong to the card that the board runs from.";
}

}  // namespace

Judgement has_no_other_function(const Scene& scene) {
    if (!scene.facts->pins) {
        return CannotTell{scene.facts->pins.what_is_missing()};
    }
    Findings findings;
    std::string missing;
    bool spoken_of = false;
    for (const InputLine& input : scene.inputs) {
        const Chip* const chip = input.placed ? chip_of(scene, *input.placed) : nullptr;
        if (chip == nullptr) {
            missing = input.placed ? scene.facts->chips.what_is_missing()
                                   : input.placed.what_is_missing();
            continue;
        }
        const lines::Pin* const pin =
            lines::pin_of(*scene.facts->pins, *chip, input.placed->offset);
        spoken_of = spoken_of || pin != nullptr;
        if (pin != nullptr && !pin->mux_owner.empty()) {
            say_function(input, *pin, findings);
        }
    }
    if (!missing.empty()) {
        return findings.or_else(CannotTell{missing});
    }
    return spoken_of ? findings.or_pass("the pin is a GPIO line, or free")
                     : Judgement{NotApplicable{"no pin controller speaks of this line's pin"}};
}

Judgement chip_does_not_sleep(const Scene& scene) {
    Findings findings;
    if (scene.button->sleeps) {
        Finding& finding = findings.note(text_of(*scene.button),
                                         "The button is on an expander behind a bus: edges come "
                                         "later and closer ones merge, and acting on the "
                                         "threshold waits " +
                                             to_text(core::limits::sleeping_guard) +
                                             " instead of " + to_text(core::limits::guard) + ".");
        finding.evidence = {scene.button->chip};
        finding.remedy =
            "Nothing has to be done if it works; a line of the processor's own is better.";
    }
    return findings.or_pass("the button's chip needs no bus");
}

Judgement rests_released(const Scene& scene) {
    if (!scene.facts->button_level) {
        return CannotTell{scene.facts->button_level.what_is_missing()};
    }
    const bool high = scene.facts->button_level->high;
    const bool pressed = high != scene.settings->button.active_low;
    Findings findings;
    if (pressed) {
        Finding& finding = findings.warning(
            text_of(*scene.button),
            std::string("The button reads as pressed now. If nobody presses it, button.pressed is "
                        "the wrong way round, or nothing pulls the line ") +
                (high ? "low" : "high") + " at rest.");
        finding.evidence = {std::string("the line is ") + (high ? "high" : "low"),
                            config_place(scene, "button.pressed") + " = " +
                                in_quotes(scene.settings->button.active_low ? "low" : "high")};
        finding.remedy = "Let go of the button and look again; nightlatch lines --watch shows what "
                         "a press does.";
    }
    return findings.or_pass(std::string("it rests ") + (high ? "high" : "low"));
}

Judgement bias_stays_without_us(const Scene& scene) {
    const lines::Bias bias = scene.settings->button.bias;
    if (bias == lines::Bias::pull_up || bias == lines::Bias::pull_down) {
        Findings findings;
        Finding& finding = findings.note(
            config_place(scene, "button.bias"),
            "Only the chip's own pull holds the button's line, and only while the service has it: "
            "before its start and after its end the line may float.");
        finding.evidence = {"button.bias = " +
                            in_quotes(config::word_for(config::bias_words, bias))};
        finding.remedy = "A resistor outside, say 10 kOhm to the released level, holds it always.";
        return findings.or_pass({});
    }
    if (!scene.facts->button_level) {
        return CannotTell{
            "whether a resistor outside holds the button's line: its level at rest (" +
            scene.facts->button_level.what_is_missing() + ")"};
    }
    if (scene.facts->button_level->high != scene.settings->button.active_low) {
        return NotApplicable{"the button reads as pressed, so nothing can be said of its rest"};
    }
    return Pass{"it rests released without a bias of ours"};
}

namespace {

/// What the login manager will do at the key; gives what is missing to tell, if anything is.
std::string look_at_power_key(const Scene& scene,
                              const PowerKeySource& source,
                              Findings& findings) {
    const Known<LoginFacts>& login = scene.facts->login;
    if (!login) {
        return login.what_is_missing();
    }
    if (!login->handle_power_key) {
        return login->handle_power_key.what_is_missing();
    }
    if (*login->handle_power_key != "ignore" &&
        !(login->block_inhibited && suppressed(*login->block_inhibited))) {
        say_power_key(source, *login->handle_power_key, findings);
    }
    return "";
}

}  // namespace

Judgement no_power_key(const Scene& scene) {
    if (!scene.facts->power_keys) {
        return CannotTell{scene.facts->power_keys.what_is_missing()};
    }
    Findings findings;
    std::string unknown;
    bool ours = false;
    for (const PowerKeySource& source : *scene.facts->power_keys) {
        if (!source.tagged || source.codes.empty()) {
            continue;
        }
        if (is_our_key(scene, source)) {
            ours = true;
        } else if (std::none_of(source.codes.begin(), source.codes.end(), is_power_code)) {
            say_other_key(source, findings);
        } else {
            unknown = look_at_power_key(scene, source, findings);
        }
    }
    if (findings.empty() && !unknown.empty()) {
        return CannotTell{"what the login manager does at a power key: " + unknown};
    }
    if (findings.empty() && ours) {
        return NotApplicable{"the only power key is on " + input_lines(scene) + ": see button-key"};
    }
    return findings.or_pass("no power key acts on its own");
}

}  // namespace nightlatch::audit::button
