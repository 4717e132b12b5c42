// SPDX-License-Identifier: MIT
// Time, the line, and the press. Requests and their life are in core_requests.cpp.
//
// Acting on release (R: released, P: pressed; D: debounce; H: the stage's hold):
//
//   line    RRRR|PPPPPPPPPPPPPPPPPPPPPPPP|RRRRRR
//   settled      D^press                   D^release
//   state   rest  holding ....H^ready .......^decided: asked
//
#include "core/core.hpp"

#include "base/ensure.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::core {
namespace {

constexpr Duration call_off_pause = 500ms;  ///< a press sooner after the release is a stray one
constexpr Duration call_off_hold = 100ms;
constexpr Duration read_again = 5ms;
constexpr Duration contradiction_patience = 50ms;  ///< an edge behind a slow bus is here by then
constexpr Duration longest_back_off = 60s;

}  // namespace

Core::Core(Settings settings) : settings_(std::move(settings)) {
    debounce_.set_intervals(settings_.press_interval, settings_.release_interval);
    actions_.push(DelayLock{true});
    actions_.push(OpenLine{});
}

// --- the ways in and out -------------------------------------------------------------------------

void Core::feed(const Input& input) {
    std::visit([this](const auto& given) { take(given); }, input);
    update_delay_lock();
}

void Core::advance(Instant now) {
    if (now < advanced_) {
        return;
    }
    advanced_ = now;
    if (contradiction_ && now < *contradiction_ + contradiction_patience) {
        return;
    }
    if (contradiction_) {
        demand_resync(now, ResyncWhy::contradiction);
    }
    run_until(now);
    if (unconfirmed_) {
        actions_.push(*unconfirmed_);
        unconfirmed_.reset();
    }
    update_delay_lock();
}

Instant Core::next_deadline() const noexcept {
    if (unconfirmed_) {
        return decision_.at;
    }
    if (contradiction_) {
        return last_read_ + read_again;
    }
    return timer();
}

std::optional<ActionOut> Core::take_action() noexcept {
    return actions_.pop();
}

Cue Core::cue() const noexcept {
    Cue cue{cue_of(state_), state_, since_, never, reached_};
    switch (state_) {
    case State::holding:
        cue.since = press_begin_;  // so that whoever draws the progress draws the whole hold
        [[fallthrough]];
    case State::ready:
        if (const std::uint32_t next = next_stage(); next != no_index) {
            cue.until = stage_instant(next);
        }
        break;
    case State::countdown:
    case State::refused:
        cue.until = state_until_;
        break;
    case State::fault:
        cue.until = retry_at_;
        break;
    case State::waiting:
    case State::rest:
    case State::stuck:
    case State::asked:
    case State::unanswered:
    case State::leaving:
        break;
    }
    return cue;
}

// --- time ----------------------------------------------------------------------------------------

void Core::run_until(Instant now) {
    for (Instant due = timer(); due <= now; due = timer()) {
        pass_timer(due);
    }
}

/// The earliest of all that is due, each never before what made it so.
Instant Core::timer() const noexcept {
    Instant due = std::min(debounce_.deadline(), press_timer());
    due = std::min(due, retry_at_);
    switch (state_) {
    case State::countdown:
        return std::min(due, countdown_timer());
    case State::asked:
    case State::refused:
        return std::min(due, state_until_);
    case State::waiting:
    case State::rest:
    case State::holding:
    case State::ready:
    case State::stuck:
    case State::unanswered:
    case State::leaving:
    case State::fault:
        break;
    }
    return due;
}

void Core::pass_timer(Instant at) {
    if (debounce_.deadline() == at) {
        settle(debounce_.expire());
        return;
    }
    if (press_timer() == at) {
        pass_press_timer(at);
        return;
    }
    if (retry_at_ == at) {
        retry_at_ = never;
        line_ = LineState::opening;
        note(at, Why::line_retry);
        actions_.push(OpenLine{});
        return;
    }
    switch (state_) {
    case State::countdown:
        decision_.at = at;
        ask(decision_);
        return;
    case State::asked:
        enter(State::unanswered, at, Why::no_answer);
        return;
    case State::refused:
        to_rest(at, Why::refusal_over);
        return;
    case State::waiting:
    case State::rest:
    case State::holding:
    case State::ready:
    case State::stuck:
    case State::unanswered:
    case State::leaving:
    case State::fault:
        break;
    }
    NIGHTLATCH_ENSURE(false);  // timer() named something that is not due
}

/// What becomes due because the button is, confirmed, still pressed.
Instant Core::press_timer() const noexcept {
    if (!debounce_.confirmed_pressed()) {
        return never;
    }
    Instant due = never;
    switch (state_) {
    case State::waiting:
        if (!said_pressed_ && waiting_pressed_since_ != never) {
            due = waiting_pressed_since_ + settings_.stuck_after;
        }
        break;
    case State::holding:
    case State::ready:
        due = press_begin_ + settings_.stuck_after;
        if (const std::uint32_t next = next_stage(); next != no_index) {
            due = std::min(due, stage_instant(next));
        }
        break;
    case State::countdown:
        if (calls_off(press_begin_)) {
            due = press_begin_ + call_off_hold;
        }
        break;
    case State::leaving:
        if (holding_back_) {
            due = press_begin_ + settings_.stuck_after;
        }
        break;
    case State::rest:
    case State::stuck:
    case State::asked:
    case State::unanswered:
    case State::refused:
    case State::fault:
        break;
    }
    return due == never ? never : std::max(due, settled_at_);
}

void Core::pass_press_timer(Instant at) {
    const Duration held = at - press_begin_;
    if (state_ == State::waiting) {
        said_pressed_ = true;
        note(at, Why::pressed_since_start, at - waiting_pressed_since_);
    } else if (state_ == State::countdown) {
        to_rest(at, Why::called_off);
    } else if (state_ == State::leaving) {
        holding_back_ = false;
        note(at, Why::stuck, held);
    } else if (const std::uint32_t next = next_stage();
               next != no_index && std::max(stage_instant(next), settled_at_) == at) {
        reached_ = next;
        enter(State::ready, at, Why::stage_reached, held, next);
        if (settings_.act_on == ActOn::threshold) {
            decide_stage(at, at);
        }
    } else {
        reached_ = no_index;
        enter(State::stuck, at, Why::stuck, held);
    }
}

/// The countdown's end waits for an episode or a press that may still call it off: a person who is
/// just pressing means it.
Instant Core::countdown_timer() const noexcept {
    const bool undecided =
        debounce_.in_episode() || (debounce_.confirmed_pressed() && calls_off(press_begin_));
    return undecided ? never : std::max(state_until_, settled_at_);
}

bool Core::calls_off(Instant begin) const noexcept {
    return begin >= decision_.released + call_off_pause;
}

Instant Core::stage_instant(std::uint32_t index) const noexcept {
    const Duration guard =
        settings_.act_on == ActOn::threshold ? settings_.threshold_guard : Duration::zero();
    return press_begin_ + settings_.stages[index].hold + guard;
}

std::uint32_t Core::next_stage() const noexcept {
    const std::uint32_t next = reached_ == no_index ? 0 : reached_ + 1;
    return next < settings_.stages.size() ? next : no_index;
}

// --- the line ------------------------------------------------------------------------------------

void Core::take(const Sample& sample) {
    if (line_ != LineState::open) {
        note(sample.stamp, Why::ignored);
        return;
    }
    if (sample.stamp < debounce_.last_sample()) {
        note(sample.stamp, Why::out_of_order);
        demand_resync(debounce_.last_sample(), ResyncWhy::gap);
        return;
    }
    if (sample.stamp < advanced_) {
        ++late_edges_;
        note(sample.stamp, Why::late_edge);
    }
    if (sample.stamp < settled_at_) {
        // The line had not settled after all: a press begun too early would count as too long.
        demand_resync(settled_at_, ResyncWhy::contradiction);
        return;
    }
    if (contradiction_ && sample.stamp > *contradiction_) {
        // Too young to be the edge that the read saw and we did not: that one is lost.
        demand_resync(sample.stamp, ResyncWhy::contradiction);
        return;
    }
    contradiction_.reset();  // the next read tells whether this edge was the one missing
    run_until(sample.stamp);
    if (line_ != LineState::open) {
        return;
    }
    debounce_.sample(sample);
    if (storm_.count(sample.stamp, 1)) {
        on_line_gone(sample.stamp, Why::line_storm);
    }
}

void Core::take(const Resync& resync) {
    line_ = LineState::open;
    line_floats_ = false;
    retry_at_ = never;
    contradiction_.reset();
    waiting_pressed_since_ = never;
    on_resync(resync.at);
    debounce_.reset(resync.at, resync.level);
    settled_at_ = resync.at;
    if (storm_.count(resync.at, resync.edges)) {
        on_line_gone(resync.at, Why::line_storm);
    }
}

void Core::take(const LevelRead& read) {
    if (line_ != LineState::open) {
        return;
    }
    last_read_ = read.at;
    if (read.level == debounce_.raw()) {
        contradiction_.reset();
        return;
    }
    if (unconfirmed_) {
        demand_resync(read.at, ResyncWhy::contradiction);
    } else if (!contradiction_) {
        contradiction_ = read.at;
        note(read.at, Why::contradiction);
    }
}

void Core::take(const LineGone& gone) {
    on_line_gone(gone.at, Why::line_gone);
}

void Core::take(const LineMayBeBack& back) {
    if (line_ == LineState::gone && !line_floats_) {
        retry_at_ = std::min(retry_at_, back.at);
    }
}

void Core::take(const NewSettings& next) {
    on_resync(next.at);
    settings_ = next.settings;
    reached_ = no_index;
    debounce_.set_intervals(settings_.press_interval, settings_.release_interval);
    debounce_.lose();
    contradiction_.reset();
    if (line_ == LineState::open) {
        line_ = LineState::resyncing;  // the shell follows with a Resync, or says that it is gone
    }
}

void Core::demand_resync(Instant at, ResyncWhy why) {
    contradiction_.reset();
    on_resync(at);
    debounce_.lose();
    line_ = LineState::resyncing;
    actions_.push(RunResync{why});
}

void Core::retry_line_later(Instant at) {
    retry_at_ = at + back_off_;
    back_off_ = std::min(2 * back_off_, longest_back_off);
}

// --- the state table's columns of the line -------------------------------------------------------

void Core::settle(const Settled& settled) {
    settled_at_ = std::max(settled_at_, settled.at);
    switch (settled.kind) {
    case SettleKind::pressed:
        on_press(settled);
        break;
    case SettleKind::found_pressed:
        on_found_pressed(settled);
        break;
    case SettleKind::released:
        on_release(settled);
        break;
    case SettleKind::glitch:
        note(settled.at, Why::glitch, settled.at - settled.edge);
        break;
    case SettleKind::voided:
        note(settled.at, Why::unsettled, settled.at - settled.edge);
        on_resync(settled.at);
        break;
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

void Core::on_release(const Settled& release) {
    said_pressed_ = false;
    holding_back_ = false;
    const Duration held = release.edge - press_begin_;
    switch (state_) {
    case State::waiting:
        back_off_ = 1s;
        enter(State::rest, release.at, Why::release_accepted);
        break;
    case State::holding:
    case State::ready:
        decide_stage(release.at, release.edge);
        break;
    case State::stuck:
        enter(State::rest, release.at, Why::release_accepted, held);
        break;
    case State::countdown:
        if (calls_off(press_begin_) && held >= call_off_hold) {
            enter(State::rest, release.at, Why::called_off);
        } else {
            note(release.at, Why::release_accepted, held);
        }
        break;
    case State::rest:
    case State::asked:
    case State::unanswered:
    case State::leaving:
    case State::refused:
    case State::fault:
        note(release.at, Why::release_accepted);
        break;
    }
}

void Core::on_resync(Instant at) {
    const bool dropped = drop_unconfirmed(at);
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

void Core::on_line_gone(Instant at, Why why) {
    if (line_ == LineState::open && why == Why::line_storm) {
        actions_.push(CloseLine{});
    }
    line_ = LineState::gone;
    line_floats_ = why == Why::line_storm;
    debounce_.lose();
    storm_.reset();
    contradiction_.reset();
    holding_back_ = false;
    retry_line_later(at);
    drop_unconfirmed(at);
    switch (state_) {
    case State::waiting:
    case State::rest:
    case State::holding:
    case State::ready:
    case State::stuck:
    case State::countdown:
    case State::refused:
        enter(State::fault, at, why);
        break;
    case State::asked:
    case State::unanswered:
    case State::leaving:
    case State::fault:
        note(at, why);
        break;
    }
}

// --- moving --------------------------------------------------------------------------------------

void Core::note(Instant at, Why why, Duration length, std::uint32_t index) {
    notes_.push({at, why, state_, state_, length, index});
}

void Core::enter(State next, Instant at, Why why, Duration length, std::uint32_t index) {
    notes_.push({at, why, state_, next, length, index});
    if (next != state_ || since_ == Instant{}) {  // the first state begins with the first input
        since_ = at;
    }
    state_ = next;
    if (next == State::rest || next == State::waiting || next == State::fault) {
        reached_ = no_index;
    }
}

void Core::to_rest(Instant at, Why why, Duration length) {
    if (line_ == LineState::gone) {
        enter(State::fault, at, why, length);
    } else if (debounce_.settled_released()) {
        enter(State::rest, at, why, length);
    } else {
        waiting_pressed_since_ = debounce_.settled_pressed() ? at : never;
        enter(State::waiting, at, why, length);
    }
}

/// Waiting is to see the line released for a whole interval from now on, whatever was known.
void Core::to_waiting(Instant at, Why why) {
    if (line_ == LineState::gone) {
        enter(State::fault, at, why);
        return;
    }
    if (debounce_.raw()) {
        debounce_.reset(std::max(at, debounce_.last_sample()), *debounce_.raw());
    }
    waiting_pressed_since_ = never;
    enter(State::waiting, at, why);
}

}  // namespace nightlatch::core
