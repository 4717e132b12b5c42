// SPDX-License-Identifier: MIT
// The line: samples, Resync, contradictions, vanishing; and the state table's columns of the line.
#include "core/core.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::core {
// --- the line ------------------------------------------------------------------------------------

void Core::take(const Sample& sample) {
    switch (line_.judge(sample)) {
    case EdgeIs::unwanted:
        note(sample.stamp, Why::ignored);
        return;
    case EdgeIs::out_of_order:
        note(sample.stamp, Why::out_of_order);
        demand_resync(line_.debounce().last_sample(), ResyncWhy::gap);
        return;
    case EdgeIs::overtaken:  // a press begun too early would count as too long
        note_if_late(sample.stamp);
        demand_resync(line_.settled_at(), ResyncWhy::contradiction);
        return;
    case EdgeIs::unexplained:
        note_if_late(sample.stamp);
        demand_resync(sample.stamp, ResyncWhy::contradiction);
        return;
    case EdgeIs::good:
        break;
    }
    note_if_late(sample.stamp);
    line_.expect();  // the next read tells whether this edge was the one missing
    run_until(sample.stamp, Deadlines::buttons);
    if (line_.is_open() && line_.sample(sample)) {
        on_line_gone(sample.stamp, Why::line_unreadable);
    }
}

void Core::note_if_late(Instant stamp) {
    if (stamp < advanced_) {
        ++late_edges_;
        note(stamp, Why::late_edge);
    }
}

void Core::take(const LineOpened& opened) {
    line_.opened(opened);
}

void Core::take(const Resync& resync) {
    hear_all();
    waiting_pressed_since_ = never;
    on_resync(resync.at);
    if (line_.resync(resync)) {
        on_line_gone(resync.at, Why::line_unreadable);
    }
}

void Core::take(const LevelRead& read) {
    switch (line_.read(read)) {
    case ReadSays::nothing:
        break;
    case ReadSays::contradicts:
        note(read.at, Why::contradiction);
        if (unconfirmed_) {
            demand_resync(read.at, ResyncWhy::contradiction);
        }
        break;
    case ReadSays::lost_edges:
        demand_resync(read.at, ResyncWhy::contradiction);
        break;
    }
}

void Core::take(const LineGone& gone) {
    hear_all();
    on_line_gone(gone.at, Why::line_gone);
}

void Core::take(const LineMayBeBack& back) {
    line_.may_be_back(back.at);
    for (AlarmWatch& alarm : alarms_) {
        alarm.line().may_be_back(back.at);
    }
}

/// The shell follows with a Resync, or says that the line is gone.
void Core::take(const NewSettings& next) {
    hear_all();
    on_resync(next.at);
    reached_ = no_index;
    line_.set(*next.settings);
    const auto before = std::exchange(settings_, next.settings);
    line_.lose_track();
    reload_alarms(*before);
}

void Core::demand_resync(Instant at, ResyncWhy why) {
    hear_all();
    on_resync(at);
    line_.lose_track();
    actions_.push(RunResync{why});
}

// --- the state table's columns of the line -------------------------------------------------------

void Core::settle(const Settled& settled) {
    switch (settled.kind) {
    case SettleKind::pressed:
        on_press(settled);
        break;
    case SettleKind::found_pressed:
        on_found_pressed(settled);
        break;
    case SettleKind::pressed_again:
        on_pressed_again(settled);
        break;
    case SettleKind::released:
        on_release(settled);
        break;
    case SettleKind::glitch:
        note(settled.at, Why::glitch, settled.at - settled.edge);
        break;
    }
    if (line_.changed_too_often()) {
        on_line_gone(settled.at, Why::line_unreadable);
    }
}

/// A level that was there when we first looked is not a press, in any state.
void Core::on_found_pressed(const Settled& found) {
    press_begin_ = found.edge;
    waiting_pressed_since_ = found.edge;
    note(found.at, Why::ignored);
}

void Core::on_press(const Settled& press) {
    press_begin_ = press.edge;
    switch (state_) {
    case State::rest:
    case State::refused:
        reached_ = no_index;
        enter(State::holding, press.at, Why::press_accepted);
        break;
    case State::countdown:  // the call-off rule: press_timer() and on_release()
        note(press.at, Why::press_accepted);
        break;
    case State::asked:
    case State::unanswered:
    case State::leaving:
        note(press.at, Why::spent);
        break;
    case State::waiting:
    case State::holding:
    case State::ready:
    case State::stuck:
    case State::fault:
        note(press.at, Why::ignored);
        break;
    }
}

/// The button was let go within drop-outs, and is down again: a new press, and what was reached
/// counts no more. A spent press stays spent, a stuck one (confirmed so until now) stuck.
void Core::on_pressed_again(const Settled& again) {
    const bool stuck = again.opened >= press_begin_ + settings_->stuck_after;
    if (!stuck) {
        press_begin_ = again.edge;
    }
    waiting_pressed_since_ = again.edge;
    switch (state_) {
    case State::holding:
    case State::ready:
        reached_ = no_index;
        enter(State::holding, again.at, Why::pressed_again, again.dropped);
        break;
    case State::waiting:
    case State::rest:
    case State::stuck:
    case State::countdown:
    case State::asked:
    case State::unanswered:
    case State::leaving:
    case State::refused:
    case State::fault:
        note(again.at, Why::pressed_again, again.dropped);
        break;
    }
}

void Core::on_release(const Settled& release) {
    said_pressed_ = false;
    holding_back_ = false;
    const Duration held = release.edge - press_begin_;
    switch (state_) {
    case State::waiting:
        enter(State::rest, release.at, Why::release_accepted);
        break;
    case State::holding:
    case State::ready:
        decide_stage(release.at, release.edge);
        break;
    case State::stuck:
        enter(State::rest, release.at, Why::release_accepted, held);
        break;
    case State::countdown:  // shorter than what calls off: release bounce, or a slip
    case State::rest:
    case State::asked:
    case State::unanswered:
    case State::leaving:
    case State::refused:
    case State::fault:
        note(release.at, Why::release_accepted, held);
        break;
    }
}

void Core::on_resync(Instant at) {
    const bool dropped = drop_unsent(at);
    switch (state_) {
    case State::waiting:
    case State::rest:
    case State::refused:
    case State::fault:
        enter(State::waiting, at, Why::resync);
        break;
    case State::holding:
    case State::ready:
    case State::stuck:
    case State::countdown:
        enter(State::waiting, at, Why::voided);
        break;
    case State::asked:
    case State::unanswered:
    case State::leaving:
        note(at, dropped ? Why::voided : Why::ignored);
        break;
    }
}

/// Closed by us when it cannot be read, which is told once.
void Core::on_line_gone(Instant at, Why why) {
    std::uint32_t rate = no_index;
    if (why == Why::line_unreadable) {
        actions_.push(CloseLine{});
        why = line_.unreadable(at) ? why : Why::line_unreadable_still;
        rate = line_.rate();
    } else {
        line_.gone(at);
    }
    holding_back_ = false;
    drop_unsent(at);
    switch (state_) {
    case State::waiting:
    case State::rest:
    case State::holding:
    case State::ready:
    case State::stuck:
    case State::countdown:
    case State::refused:
        enter(State::fault, at, why, {}, rate);
        break;
    case State::asked:
    case State::unanswered:
    case State::leaving:
    case State::fault:
        note(at, why, {}, rate);
        break;
    }
}

}  // namespace nightlatch::core
