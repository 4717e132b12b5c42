// SPDX-License-Identifier: MIT
#include "config/draft.hpp"
#include "config/words.hpp"

#include <algorithm>

namespace nightlatch::config {
namespace {

/// Who follows tells alarms and stages by their names, and what is kept of an alarm over a restart
/// of the service is kept by its name.
void check_alarm_name(const Draft& draft, std::size_t at, Reader& reader) {
    const auto place = draft.place("alarm.name", at);
    if (!place) {
        return;
    }
    const core::Settings& core = draft.settings.core;
    const std::string& name = core.alarms[at].name;
    const auto check = [&](std::string_view key, std::size_t other, const std::string& its_name) {
        const auto its_place = draft.place(std::string(key) + ".name", other);
        if (its_place && its_name == name) {
            reader.error(*place,
                         "alarm.name",
                         in_quotes(name) + " is already the name of the " + std::string(key) +
                             " in " + line_number(*its_place));
        }
    };
    for (std::size_t i = 0; i < core.stages.size(); ++i) {
        check("stage", i, core.stages[i].name);
    }
    for (std::size_t i = 0; i < at; ++i) {
        check("alarm", i, core.alarms[i].name);
    }
}

void check_lasting(const Draft& draft, std::size_t at, Reader& reader) {
    const auto place = draft.place("alarm.lasting", at);
    if (!place) {
        return;
    }
    const core::Settings& core = draft.settings.core;
    const core::Alarm& alarm = core.alarms[at];
    const Duration debounce = std::max(core.press_interval, core.release_interval);
    if (draft.place("button.debounce.press") && draft.place("button.debounce.release") &&
        alarm.lasting <= debounce) {
        reader.error(*place,
                     "alarm.lasting",
                     shown(alarm.lasting) + " is not longer than button.debounce, " +
                         shown(debounce) + ", which alarm lines are debounced by, too");
    }
}

/// Keys that do nothing, or harm, with the action.
void check_alarm_action(const Draft& draft, std::size_t at, Reader& reader) {
    if (!draft.place("alarm.action", at)) {
        return;
    }
    const core::Alarm& alarm = draft.settings.core.alarms[at];
    const bool announces = alarm.action == core::Action::announce;
    const std::string no_use =
        " is of no use: an alarm that only announces asks for nothing that could be refused";
    const auto repeat = draft.place("alarm.repeat", at);
    if (repeat && announces) {
        reader.warning(*repeat, "alarm.repeat", shown(*alarm.repeat) + no_use + "; leave it out");
    }
    const auto inhibitors = draft.place("alarm.inhibitors", at);
    if (inhibitors && announces && alarm.inhibitors == core::Inhibitors::override_them) {
        const std::string word(word_for(inhibitor_words, alarm.inhibitors));
        reader.warning(
            *inhibitors, "alarm.inhibitors", in_quotes(word) + no_use + "; leave it out");
    }
    const auto at_start = draft.place("alarm.at_start", at);
    if (at_start && alarm.action == core::Action::reboot &&
        alarm.at_start == core::AtStart::count) {
        reader.error(*at_start,
                     "alarm.at_start",
                     "\"count\" with the action \"reboot\" starts the board again and again while "
                     "the level lasts; set it to \"ignore\"");
    }
}

}  // namespace

void check_alarms(const Draft& draft, Reader& reader) {
    for (std::size_t i = 0; i < draft.settings.core.alarms.size(); ++i) {
        check_alarm_name(draft, i, reader);
        check_lasting(draft, i, reader);
        check_alarm_action(draft, i, reader);
    }
}

}  // namespace nightlatch::config
