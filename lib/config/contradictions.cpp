// SPDX-License-Identifier: MIT
#include "base/duration_text.hpp"
#include "config/draft.hpp"
#include "config/words.hpp"
#include "core/limits.hpp"
#include "lines/find.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::config {
namespace {

using namespace std::chrono_literals;
using nightlatch::to_text;
namespace limits = core::limits;

/// Nobody lets go between two stages that are closer than this.
constexpr Duration least_gap = 500ms;

void check_hold(const Draft& draft, std::size_t at, Reader& reader) {
    const core::Settings& core = draft.settings.core;
    const auto place = draft.place("stage.hold", at);
    if (!place) {
        return;
    }
    const Duration hold = core.stages[at].hold;
    if (draft.place("button.debounce.press") && hold <= core.press_interval) {
        reader.error(*place,
                     "stage.hold",
                     shown(hold) + " is not longer than button.debounce's press interval, " +
                         shown(core.press_interval) +
                         ": the stage would be reached before the press is accepted");
    }
    if (!draft.place("button.stuck_after") || !draft.place("button.act_on")) {
        return;
    }
    const bool threshold = core.act_on == core::ActOn::threshold;
    if (hold + (threshold ? limits::sleeping_guard : Duration::zero()) >= core.stuck_after) {
        reader.error(*place,
                     "stage.hold",
                     shown(hold) +
                         (threshold ? " plus a guard of up to " + to_text(limits::sleeping_guard)
                                    : std::string()) +
                         " is not shorter than button.stuck_after, " + shown(core.stuck_after) +
                         ": a press that long counts as stuck and does nothing");
    }
}

void check_names_of_pair(const Draft& draft,
                         std::size_t first,
                         std::size_t second,
                         Reader& reader) {
    const std::vector<core::Stage>& stages = draft.settings.core.stages;
    const auto first_place = draft.place("stage.name", first);
    const auto second_place = draft.place("stage.name", second);
    if (first_place && second_place && stages[first].name == stages[second].name) {
        reader.error(*second_place,
                     "stage.name",
                     in_quotes(stages[second].name) + " is already the name of the stage in " +
                         line_number(*first_place));
    }
}

/// Two stages of one hold, and stages too close to hit.
void check_holds_of_pair(const Draft& draft,
                         std::size_t first,
                         std::size_t second,
                         Reader& reader) {
    const auto first_place = draft.place("stage.hold", first);
    const auto second_place = draft.place("stage.hold", second);
    if (!first_place || !second_place) {
        return;
    }
    const Duration one = draft.settings.core.stages[first].hold;
    const Duration other = draft.settings.core.stages[second].hold;
    const Duration gap = std::max(one, other) - std::min(one, other);
    if (gap == Duration::zero()) {
        reader.error(*second_place,
                     "stage.hold",
                     shown(other) + " is already the hold of the stage in " +
                         line_number(*first_place));
    } else if (gap < least_gap) {
        reader.warning(*second_place,
                       "stage.hold",
                       shown(other) + " is only " + to_text(gap) + " from the hold in " +
                           line_number(*first_place) + ": hardly anybody lets go in between");
    }
}

void check_stages(const Draft& draft, Reader& reader) {
    const std::vector<Place>* places = draft.places("stage");
    if (places == nullptr) {
        return;
    }
    if (places->empty()) {
        reader.error({},
                     "stage",
                     "there is no [[stage]], so the button would do nothing; at least one is "
                     "needed, with name, hold and action");
        return;
    }
    bool only_announces = true;
    for (std::size_t i = 0; i < places->size(); ++i) {
        check_hold(draft, i, reader);
        for (std::size_t j = 0; j < i; ++j) {
            check_names_of_pair(draft, j, i, reader);
            check_holds_of_pair(draft, j, i, reader);
        }
        only_announces = only_announces && draft.place("stage.action", i) &&
                         draft.settings.core.stages[i].action == core::Action::announce;
    }
    if (only_announces) {
        reader.note(places->front(),
                    "stage.action",
                    "every stage only announces: the button asks for neither power-off nor reboot");
    }
}

void check_threshold(const Draft& draft, Reader& reader) {
    const auto act_on = draft.place("button.act_on");
    if (!act_on || draft.settings.core.act_on != core::ActOn::threshold) {
        return;
    }
    const std::vector<Place>* stages = draft.places("stage");
    if (stages != nullptr && stages->size() > 1) {
        reader.error(*act_on,
                     "button.act_on",
                     "\"threshold\" goes with exactly one stage, and there are " +
                         std::to_string(stages->size()) +
                         ": the first one reached would act, the others never");
    }
    const auto grace = draft.place("leave.grace");
    if (grace && draft.settings.core.grace > Duration::zero()) {
        reader.error(
            *grace,
            "leave.grace",
            "button.act_on = \"threshold\" has no countdown; set it to \"0 s\" or leave it "
            "out");
    }
}

void check_button(const Draft& draft, Reader& reader) {
    const core::Settings& core = draft.settings.core;
    const auto stuck_after = draft.place("button.stuck_after");
    if (draft.place("button.debounce.press") && stuck_after &&
        core.stuck_after <= core.press_interval) {
        reader.error(*stuck_after,
                     "button.stuck_after",
                     shown(core.stuck_after) +
                         " is not longer than button.debounce's press interval, " +
                         shown(core.press_interval));
    }
    const Button& button = draft.settings.button;
    const lines::Bias towards_pressed =
        button.active_low ? lines::Bias::pull_down : lines::Bias::pull_up;
    const auto bias = draft.place("button.bias");
    if (bias && draft.place("button.pressed") && button.bias == towards_pressed) {
        reader.warning(*bias,
                       "button.bias",
                       in_quotes(word_for(bias_words, towards_pressed)) + " pulls the line " +
                           std::string(word_for(level_words, button.active_low)) +
                           ", the level it has while pressed: an open contact then reads as a "
                           "held button");
    }
}

void check_grace(const Draft& draft, Reader& reader) {
    const core::Settings& core = draft.settings.core;
    const auto grace = draft.place("leave.grace");
    if (!grace || !draft.place("button.debounce.press") || core.grace == Duration::zero()) {
        return;
    }
    const Duration least =
        limits::call_off_pause + std::max(limits::call_off_hold, core.press_interval);
    if (core.grace <= least) {
        reader.error(
            *grace,
            "leave.grace",
            shown(core.grace) + " is too short to call anything off: that takes a press from " +
                to_text(limits::call_off_pause) + " after the release on; allowed: more than " +
                to_text(least) + ", or \"0 s\" for no countdown");
    }
}

/// A cue that is wrong is meant to show something.
void check_feedbacks(const Draft& draft, Reader& reader) {
    for (std::size_t i = 0; i < draft.settings.feedback.size(); ++i) {
        const bool shows =
            std::any_of(core::all_cues.begin(), core::all_cues.end(), [&](core::CueName cue) {
                return !draft.place("feedback." + std::string(core::text_of(cue)), i) ||
                       core::shows(draft.settings.feedback[i].looks, cue);
            });
        if (!shows) {
            reader.warning((*draft.places("feedback"))[i],
                           "feedback",
                           "every cue is off, so this shows nothing");
        }
    }
}

/// A use of a line or an LED, for the rule that each has one.
struct OutputUse {
    lines::LineName where;  ///< of an LED: its name in `line`, no chip
    std::string owner;      ///< "the button"
    Place place;
    std::string key;  ///< "button.line"
};

void find_uses(const Draft& draft,
               const KnownSection& section,
               std::size_t at,
               std::vector<OutputUse>& uses) {
    std::optional<std::string> chip;
    for (const Key& key : section.keys) {
        const auto place = draft.place(key, at);
        if (!place) {
            continue;
        }
        const auto value = [&] { return text_of(*key.member.get(draft.settings, at)); };
        if (key.kind == Kind::chip) {
            chip = value();
        } else if (key.kind == Kind::led || (key.kind == Kind::line && chip)) {
            uses.push_back({{chip.value_or(""), value()},
                            std::string(section.user),
                            *place,
                            full_name(section, key)});
        }
    }
}

std::vector<OutputUse> uses_of(const Draft& draft) {
    std::vector<OutputUse> uses;
    for (const KnownSection& section : known_sections()) {
        for (std::size_t i = 0; i < section.count(draft.settings); ++i) {
            find_uses(draft, section, i, uses);
        }
    }
    return uses;
}

void check_use(const OutputUse& first, const OutputUse& second, Reader& reader) {
    if (first.where.line != second.where.line ||
        first.where.chip.empty() != second.where.chip.empty()) {
        return;
    }
    const std::string what = first.where.chip.empty() ? "LED " : "line ";
    if (lines::surely_same_chip(first.where.chip, second.where.chip)) {
        reader.error(second.place,
                     second.key,
                     what + in_quotes(second.where.line) + " is already used by " + first.owner +
                         " in " + line_number(first.place) + "; each has one use");
    } else if (!lines::offset_in(second.where.line)) {
        // A name, unlike an offset, hardly ever is on two chips.
        reader.warning(second.place,
                       second.key,
                       "line " + in_quotes(second.where.line) + " is also used by " + first.owner +
                           " in " + line_number(first.place) +
                           "; if both chips are the same, only one of them can have it");
    }
}

}  // namespace

std::optional<Place> Draft::place(const Key& key, std::size_t at) const {
    const auto read = std::find_if(keys.begin(), keys.end(), [&](const ReadKey& one) {
        return one.key == &key && one.at == at;
    });
    return read == keys.end() ? std::nullopt : std::optional(read->place);
}

std::optional<Place> Draft::place(std::string_view full_name, std::size_t at) const {
    return place(key_named(full_name), at);
}

const std::vector<Place>* Draft::places(std::string_view section) const {
    const auto read = std::find_if(sections.begin(), sections.end(), [&](const ReadSection& one) {
        return one.name == section;
    });
    return read == sections.end() ? nullptr : &read->places;
}

void check_contradictions(const Draft& draft, Reader& reader) {
    check_button(draft, reader);
    check_stages(draft, reader);
    check_threshold(draft, reader);
    check_grace(draft, reader);
    check_feedbacks(draft, reader);
    check_alarms(draft, reader);
    const std::vector<OutputUse> uses = uses_of(draft);
    for (std::size_t i = 0; i < uses.size(); ++i) {
        for (std::size_t j = 0; j < i; ++j) {
            check_use(uses[j], uses[i], reader);
        }
    }
}

}  // namespace nightlatch::config
