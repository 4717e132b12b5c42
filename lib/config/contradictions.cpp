// SPDX-License-Identifier: MIT
#include "base/duration_text.hpp"
#include "config/draft.hpp"
#include "core/limits.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::config {
namespace {

using namespace std::chrono_literals;
using nightlatch::to_text;
namespace limits = core::limits;

/// Nobody lets go between two stages that are closer than this.
constexpr Duration least_gap = 500ms;

std::string line_number(Place place) {
    return "line " + std::to_string(place.line);
}

std::string shown(Duration duration) {
    return in_quotes(to_text(duration));
}

void check_hold(const Draft& draft, const Placed<Duration>& hold, Reader& reader) {
    if (draft.press && hold.value <= draft.press->value) {
        reader.error(hold.place,
                     "stage.hold",
                     shown(hold.value) + " is not longer than button.debounce's press interval, " +
                         shown(draft.press->value) +
                         ": the stage would be reached before the press is accepted");
    }
    if (!draft.stuck_after || !draft.act_on) {
        return;
    }
    const bool threshold = draft.act_on->value == core::ActOn::threshold;
    const Duration reached = hold.value + (threshold ? limits::sleeping_guard : Duration::zero());
    if (reached >= draft.stuck_after->value) {
        reader.error(hold.place,
                     "stage.hold",
                     shown(hold.value) +
                         (threshold ? " plus a guard of up to " + to_text(limits::sleeping_guard)
                                    : std::string()) +
                         " is not shorter than button.stuck_after, " +
                         shown(draft.stuck_after->value) +
                         ": a press that long counts as stuck and does nothing");
    }
}

/// Two stages told apart neither by hold nor by name, and stages too close to hit.
void check_pair(const StageDraft& first, const StageDraft& second, Reader& reader) {
    if (first.name && second.name && first.name->value == second.name->value) {
        reader.error(second.name->place,
                     "stage.name",
                     in_quotes(second.name->value) + " is already the name of the stage in " +
                         line_number(first.name->place));
    }
    if (!first.hold || !second.hold) {
        return;
    }
    const Duration gap = std::max(first.hold->value, second.hold->value) -
                         std::min(first.hold->value, second.hold->value);
    if (gap == Duration::zero()) {
        reader.error(second.hold->place,
                     "stage.hold",
                     shown(second.hold->value) + " is already the hold of the stage in " +
                         line_number(first.hold->place));
    } else if (gap < least_gap) {
        reader.warning(second.hold->place,
                       "stage.hold",
                       shown(second.hold->value) + " is only " + to_text(gap) +
                           " from the hold in " + line_number(first.hold->place) +
                           ": hardly anybody lets go in between");
    }
}

void check_stages(const Draft& draft, Reader& reader) {
    if (!draft.stages) {
        return;
    }
    const std::vector<StageDraft>& stages = *draft.stages;
    if (stages.empty()) {
        reader.error({},
                     "stage",
                     "there is no [[stage]], so the button would do nothing; at least one is "
                     "needed, with name, hold and action");
        return;
    }
    for (std::size_t i = 0; i < stages.size(); ++i) {
        if (stages[i].hold) {
            check_hold(draft, *stages[i].hold, reader);
        }
        for (std::size_t j = 0; j < i; ++j) {
            check_pair(stages[j], stages[i], reader);
        }
    }
    if (std::all_of(stages.begin(), stages.end(), [](const StageDraft& stage) {
            return stage.action && stage.action->value == core::Action::announce;
        })) {
        reader.note(stages.front().place,
                    "stage.action",
                    "every stage only announces: the button asks for neither power-off nor reboot");
    }
}

void check_threshold(const Draft& draft, Reader& reader) {
    if (!draft.act_on || draft.act_on->value != core::ActOn::threshold) {
        return;
    }
    if (draft.stages && draft.stages->size() > 1) {
        reader.error(draft.act_on->place,
                     "button.act_on",
                     "\"threshold\" goes with exactly one stage, and there are " +
                         std::to_string(draft.stages->size()) +
                         ": the first one reached would act, the others never");
    }
    if (draft.grace && draft.grace->value > Duration::zero()) {
        reader.error(
            draft.grace->place,
            "leave.grace",
            "button.act_on = \"threshold\" has no countdown; set it to \"0 s\" or leave it "
            "out");
    }
}

void check_button(const Draft& draft, Reader& reader) {
    if (draft.press && draft.stuck_after && draft.stuck_after->value <= draft.press->value) {
        reader.error(draft.stuck_after->place,
                     "button.stuck_after",
                     shown(draft.stuck_after->value) +
                         " is not longer than button.debounce's press interval, " +
                         shown(draft.press->value));
    }
    if (!draft.pressed_low || !draft.bias) {
        return;
    }
    const Bias towards_pressed = draft.pressed_low->value ? Bias::pull_down : Bias::pull_up;
    if (draft.bias->value == towards_pressed) {
        const std::string_view level = word_for(level_words, draft.pressed_low->value);
        reader.warning(draft.bias->place,
                       "button.bias",
                       in_quotes(word_for(bias_words, towards_pressed)) + " pulls the line " +
                           std::string(level) +
                           ", the level it has while pressed: an open contact then reads as a "
                           "held button");
    }
}

void check_grace(const Draft& draft, Reader& reader) {
    if (!draft.grace || !draft.press || draft.grace->value == Duration::zero()) {
        return;
    }
    const Duration least =
        limits::call_off_pause + std::max(limits::call_off_hold, draft.press->value);
    if (draft.grace->value <= least) {
        reader.error(draft.grace->place,
                     "leave.grace",
                     shown(draft.grace->value) +
                         " is too short to call anything off: that takes a press from " +
                         to_text(limits::call_off_pause) +
                         " after the release on; allowed: more than " + to_text(least) +
                         ", or \"0 s\" for no countdown");
    }
}

/// "gpiochip0" and "/dev/gpiochip0" are one chip; that a label means the same one cannot be seen
/// here.
std::string_view bare_chip(std::string_view chip) {
    constexpr std::string_view folder = "/dev/";
    return chip.starts_with(folder) ? chip.substr(folder.size()) : chip;
}

void check_use(const OutputUse& first, const OutputUse& second, Reader& reader) {
    if (first.where.line != second.where.line ||
        first.where.chip.empty() != second.where.chip.empty()) {
        return;
    }
    const std::string what = first.where.chip.empty() ? "LED " : "line ";
    if (bare_chip(first.where.chip) == bare_chip(second.where.chip)) {
        reader.error(second.place,
                     second.key,
                     what + in_quotes(second.where.line) + " is already used by " + first.owner +
                         " in " + line_number(first.place) + "; each has one use");
    } else if (second.where.line.find_first_not_of("0123456789") != std::string::npos) {
        // A name, unlike an offset, hardly ever is on two chips.
        reader.warning(second.place,
                       second.key,
                       "line " + in_quotes(second.where.line) + " is also used by " + first.owner +
                           " in " + line_number(first.place) +
                           "; if both chips are the same, only one of them can have it");
    }
}

}  // namespace

void check_contradictions(const Draft& draft, Reader& reader) {
    check_button(draft, reader);
    check_stages(draft, reader);
    check_threshold(draft, reader);
    check_grace(draft, reader);
    for (std::size_t i = 0; i < draft.uses.size(); ++i) {
        for (std::size_t j = 0; j < i; ++j) {
            check_use(draft.uses[j], draft.uses[i], reader);
        }
    }
}

}  // namespace nightlatch::config
