// SPDX-License-Identifier: MIT
// The ways in and out, time, and moving from state to state. The line is in core_line.cpp, requests
// and their life in core_requests.cpp.
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

Core::Core(std::shared_ptr<const Settings> settings) : settings_(std::move(settings)) {
    debounce_.set_intervals(settings_->press_interval, settings_->release_interval);
    actions_.push(DelayLock{true});
    actions_.push(OpenLine{});
}

// --- the ways in and out -------------------------------------------------------------------------

void Core::feed(const Input& input) {
    if (is_of_another_line(input)) {
        return;
    }
    std::visit([this](const auto& given) { take(given); }, input);
    update_delay_lock();
}

void Core::advance(Instant now) {
    if (now < advanced_) {
        return;
    }
    advanced_ = now;
    if (contradiction_ && now < *contradiction_ + limits::contradiction_patience) {
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
        return last_read_ + limits::read_again;
    }
    return timer();
}

std::optional<ActionOut> Core::take_action() noexcept {
    if (auto action = actions_.pop()) {
        return action;
    }
    if (std::exchange(look_wanted_, false)) {
        return LookAtPostHalt{};
    }
    return std::nullopt;
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
            due = waiting_pressed_since_ + settings_->stuck_after;
        }
        break;
    case State::holding:
    case State::ready:
        due = press_begin_ + settings_->stuck_after;
        if (const std::uint32_t next = next_stage(); next != no_index) {
            due = std::min(due, stage_instant(next));
        }
        break;
    case State::countdown:
        if (calls_off(press_begin_)) {
            due = press_begin_ + limits::call_off_hold;
        }
        break;
    case State::leaving:
        if (holding_back_) {
            due = press_begin_ + settings_->stuck_after;
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
        if (settings_->act_on == ActOn::threshold) {
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
    return begin >= decision_.released + limits::call_off_pause;
}

/// Late edges of a chip that sleeps are waited for, whatever the settings say.
Duration Core::guard() const noexcept {
    if (settings_->act_on == ActOn::release) {
        return Duration::zero();
    }
    return std::max(settings_->threshold_guard,
                    line_sleeps_ ? limits::sleeping_guard : limits::guard);
}

Instant Core::stage_instant(std::uint32_t index) const noexcept {
    return press_begin_ + settings_->stages[index].hold + guard();
}

std::uint32_t Core::next_stage() const noexcept {
    const std::uint32_t next = reached_ == no_index ? 0 : reached_ + 1;
    return next < settings_->stages.size() ? next : no_index;
}

// --- moving --------------------------------------------------------------------------------------

void Core::note(Instant at, Why why, Duration length, std::uint32_t index) {
    notes_.push({at, why, state_, state_, length, index});
}

// A note has five parts, and so has its telling. NOLINTNEXTLINE(readability-function-size)
void Core::enter(State next, Instant at, Why why, Duration length, std::uint32_t index) {
    notes_.push({at, why, state_, next, length, index});
    if (next != state_ || since_ == Instant{}) {  // the first state begins with the first input
        since_ = at;
    }
    state_ = next;
    if (next == State::rest || next == State::waiting || next == State::fault) {
        reached_ = no_index;
    }
    look_wanted_ = settings_->without_post_halt != WithoutPostHalt::allow && may_power_off_next();
}

/// In the last state before a press is decided: may that be a power-off?
bool Core::may_power_off_next() const noexcept {
    const bool at_threshold = settings_->act_on == ActOn::threshold;
    if (state_ != (at_threshold ? State::holding : State::ready)) {
        return false;
    }
    return settings_->stages[at_threshold ? 0 : reached_].action == Action::power_off;
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
