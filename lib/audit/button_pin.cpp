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
    return Pass{"it rests released, without a bias from the configuration"};
}

}  // namespace nightlatch::audit::button
