// SPDX-License-Identifier: MIT
#include "rehearsal/story.hpp"

#include "base/text.hpp"
#include "supervisor/narrate.hpp"

#include <algorithm>
#include <variant>

namespace nightlatch::rehearsal {
namespace {

std::string times(std::size_t count) {
    return count == 1 ? "once" : count == 2 ? "twice" : counted(count) + " times";
}

std::string announcements(const std::vector<Announced>& all) {
    const bool one_name = std::all_of(
        all.begin(), all.end(), [&](const Announced& one) { return one.name == all.front().name; });
    if (one_name) {
        return in_quotes(all.front().name, uncut) + " is announced" +
               (all.size() == 1 ? "" : " " + times(all.size()));
    }
    return counted(all.size(), "announcement is", "announcements are") + " made";
}

/// "accepted"; nothing while that is open.
std::string came_of(AskedOutcome outcome) {
    switch (outcome) {
    case AskedOutcome::accepted:
        return "accepted";
    case AskedOutcome::refused:
        return "refused";
    case AskedOutcome::unanswered:
        return "not answered";
    case AskedOutcome::open:
        break;
    }
    return "";
}

std::string requests(const std::vector<Asked>& all) {
    if (all.empty()) {
        return "nothing is asked of the system";
    }
    const Asked& first = all.front();
    const auto* const alarm = std::get_if<supervisor::ByAlarm>(&first.why);
    const std::string what(supervisor::text_of(first.action));
    const std::string by = alarm == nullptr ? "" : "the alarm " + in_quotes(alarm->name, uncut);
    const std::string when = " at " + short_moment(first.at);
    const std::string came = came_of(first.outcome);
    const std::string which = came.empty() ? "" : ", which is " + came;
    if (all.size() > 1) {
        return "the system is asked " + times(all.size()) + ", first " +
               (by.empty() ? "" : "by " + by + " ") + "for " + what + when + which;
    }
    if (!by.empty()) {
        return by + " asks for " + what + when + which;
    }
    return what + " is asked for" + when + (came.empty() ? "" : " and " + came);
}

}  // namespace

std::string story_of(const Rehearsal& rehearsal) {
    const std::size_t presses = rehearsal.timeline.holds.size();
    std::string text = presses == 0 ? "Never pressed: " : "Pressed " + times(presses) + ": ";
    if (!rehearsal.announced.empty()) {
        text += announcements(rehearsal.announced) + ", and ";
    }
    return text + requests(rehearsal.asked) + ".";
}

}  // namespace nightlatch::rehearsal
