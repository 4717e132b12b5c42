// SPDX-License-Identifier: MIT
// What the App tells its followers of.
#include "supervisor/app.hpp"

#include <utility>

namespace nightlatch::supervisor {

using core::Why;

void App::tell(Happening what) {
    const Event event{ports_.clock.now(), std::move(what)};
    for (Follower* const follower : followers_) {
        follower->happened(event);
    }
}

void App::tell_notes() {
    while (const auto note = core_.take_note()) {
        tell(happening_of(*note));
    }
}

/// An event that stands alone needs what the note only points to.
Happening App::happening_of(const core::Note& note) {
    const core::Settings& core = settings_->core;
    const bool of_stage = note.index < core.stages.size();
    switch (note.why) {
    case Why::stage_reached:
        return of_stage ? Happening(StageReached{note, core.stages[note.index]}) : Noted{note};
    case Why::near_miss:
        return NearMiss{note, core.stages.front()};
    case Why::decided:
        return of_stage
                   ? Happening(Decided{note, {core.stages[note.index], note.length, core.act_on}})
                   : Noted{note};
    case Why::alarm:
    case Why::alarm_again:
        return AlarmDue{note, {core.alarms[note.index].name}};
    case Why::alarm_over:
    case Why::alarm_ignored:
    case Why::alarm_pending:
        return AlarmTold{note, core.alarms[note.index].name};
    case Why::request_accepted:
    case Why::request_refused:
    case Why::request_failed:
    case Why::answered_late:
    case Why::dry_leaving:
        return answered_by(note);
    case Why::no_post_halt:
        return PowerOffRefused{note, post_halt_->reason};
    case Why::going_down:
    case Why::not_going_down:
    case Why::not_preparing:
    case Why::nothing_came:
    case Why::preparing_unknown:
        return went_down(note);
    case Why::pressed_since_start:
        return PressedForEver{note, settings_->button.where, settings_->button.active_low};
    case Why::line_unreadable:
        return LineUnreadable{note, where(note.line)};
    case Why::line_readable:
        return LineReadable{note, where(note.line)};
    default:
        return Noted{note};
    }
}

/// With what was said; what was said before it has been told or was of no use.
Happening App::answered_by(const core::Note& note) {
    ports::Said said;
    while (!said_.empty() && said_.front().first <= note.index) {
        said = said_.front().first == note.index ? std::move(said_.front().second) : ports::Said{};
        said_.erase(said_.begin());
    }
    if (note.why == Why::request_failed) {
        failure_ = said.text;
    }
    return Answered{note, std::move(said.text), std::move(said.blocker)};
}

/// A request that failed while a shutdown was under way has failed for the reason that was told
/// then.
Happening App::went_down(const core::Note& note) {
    const bool failed = note.to == core::State::refused;
    return GoingDown{note, note.why == Why::going_down, failed ? failure_ : ""};
}

Cause App::cause_of(const core::Ask& ask) const {
    const core::Settings& core = settings_->core;
    if (ask.stage < core.stages.size()) {
        return ByPress{core.stages[ask.stage], ask.held, core.act_on};
    }
    return ByAlarm{core.alarms[ask.alarm].name};
}

const lines::LineName& App::where(core::LineIndex line) const {
    return line == core::button_line ? settings_->button.where
                                     : settings_->alarm_lines[line - 1].where;
}

void App::show_cue() {
    const core::Cue cue = core_.cue();
    if (cue.state == core::State::fault) {
        shown_.until = cue.until;  // the line is tried again: nothing to show anew
    }
    if (any_shown_ && cue == shown_) {
        return;
    }
    any_shown_ = true;
    shown_ = cue;
    tell(CueShown{cue});
}

}  // namespace nightlatch::supervisor
