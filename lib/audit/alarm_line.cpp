// SPDX-License-Identifier: MIT
#include "audit/button.hpp"
#include "audit/claims.hpp"
#include "audit/say.hpp"
#include "base/text.hpp"
#include "config/diagnostic.hpp"

namespace nightlatch::audit::button {
namespace {

/// Why there is no alarm's line to judge, when there is none.
std::optional<Judgement> no_alarm(const Scene& scene) {
    if (scene.settings == nullptr) {
        return CannotTell{missing_config(scene)};
    }
    if (scene.settings->alarm_lines.empty()) {
        return NotApplicable{"no alarm is configured"};
    }
    return std::nullopt;
}

void say_there_now(const Scene& scene, const InputLine& input, bool high, Findings& findings) {
    Finding& finding = findings.warning(
        text_of(*input.placed),
        opening(input) + " is " + (high ? "high" : "low") +
            " now, the level that is the alarm. If nothing is the matter, alarm.active is the "
            "wrong way round, or nothing pulls the line " +
            (high ? "low" : "high") + " at rest.");
    finding.evidence = {std::string("the line is ") + (high ? "high" : "low"),
                        config_place(scene, "alarm.active") + " = " +
                            in_quotes(input.active_low ? "low" : "high")};
    finding.remedy = "Look at the line while what drives it changes: nightlatch lines --watch. "
                     "Correct active, or put a resistor to the level at rest.";
}

}  // namespace

Judgement alarm_lines_are_there(const Scene& scene) {
    if (std::optional<Judgement> none = no_alarm(scene)) {
        return *std::move(none);
    }
    Findings findings;
    std::string there;
    std::string missing;
    for (std::size_t i = 1; i < scene.inputs.size(); ++i) {
        const InputLine& input = scene.inputs[i];
        if (input.placed) {
            there += (there.empty() ? "" : "; ") + text_of(*input.placed);
        } else if (!scene.facts->chips) {
            missing = input.placed.what_is_missing();
        } else {
            Finding& finding = findings.error(
                config_place(scene, "alarm.line"),
                opening(input) + " is not there: " + input.placed.what_is_missing() + ".");
            finding.remedy = "See which chips and lines there are: nightlatch lines";
        }
    }
    return missing.empty() ? findings.or_pass(there) : findings.or_else(CannotTell{missing});
}

Judgement no_alarm_is_there_now(const Scene& scene) {
    if (std::optional<Judgement> none = no_alarm(scene)) {
        return *std::move(none);
    }
    const auto& levels = scene.facts->alarm_levels;
    if (!levels) {
        return CannotTell{levels.what_is_missing()};
    }
    Findings findings;
    std::string missing;
    for (std::size_t i = 1; i < scene.inputs.size(); ++i) {
        if (i > levels->size() || !(*levels)[i - 1]) {
            missing = i > levels->size() ? "the level of " + scene.inputs[i].what
                                         : (*levels)[i - 1].what_is_missing();
            continue;
        }
        const bool high = (*levels)[i - 1]->high;
        if (high != scene.inputs[i].active_low) {
            say_there_now(scene, scene.inputs[i], high, findings);
        }
    }
    return missing.empty() ? findings.or_pass("each alarm's line has its other level")
                           : findings.or_else(CannotTell{missing});
}

}  // namespace nightlatch::audit::button
