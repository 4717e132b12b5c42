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
Happening App::happening_of(const core::Note& note) const {
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
        return AlarmDue{note, {core.alarms[note.index].name}};
    case Why::request_accepted:
        return Answered{note, core::AnswerKind::accepted, answer_text_};
    case Why::request_refused:
        return Answered{note, core::AnswerKind::refused, answer_text_};
    case Why::no_post_halt:
        return PowerOffRefused{note, post_halt_->reason};
    case Why::going_down:
    case Why::not_going_down:
        return GoingDown{note, note.why == Why::going_down};
    case Why::pressed_since_start:
        return PressedForEver{note, settings_->button.where, settings_->button.active_low};
    case Why::line_storm:
        return LineFloats{note, settings_->button.where};
    default:
        return Noted{note};
    }
}

Cause App::cause_of(const core::Ask& ask) const {
    const core::Settings& core = settings_->core;
    if (ask.stage < core.stages.size()) {
        return ByPress{core.stages[ask.stage], ask.held, core.act_on};
    }
    return ByAlarm{core.alarms[ask.alarm].name};
}

void App::show_cue() {
    const core::Cue cue = core_.cue();
    const bool same = any_shown_ && cue.name == shown_.name && cue.state == shown_.state &&
                      cue.stage == shown_.stage && cue.since == shown_.since;
    if (same) {
        return;
    }
    any_shown_ = true;
    shown_ = cue;
    tell(CueShown{cue});
}

}  // namespace nightlatch::supervisor
