// SPDX-License-Identifier: MIT
// Time: what is due next, and what happens then.
#include "base/ensure.hpp"
#include "core/core.hpp"

#include <algorithm>

namespace nightlatch::core {

/// The alarms' only when their lines have been drained and read, too. One that asks goes before
/// what a press does at that instant, but not before it has settled.
void Core::run_until(Instant now, Deadlines which) {
    for (;;) {
        const Instant due = timer();
        const Instant heard = message_at();
        const Instant alarms = which == Deadlines::all ? alarms_at() : never;
        const Instant next = std::min({due, heard, alarms});
        if (next > now) {
            return;
        }
        if (alarms == next) {
            pass_alarms(next);
        } else if (due == next) {
            pass_timer(due);
        } else {
            hear_next();
        }
    }
}

/// The earliest of all that is due, each never before what made it so.
Instant Core::timer() const noexcept {
    return std::min({line_timer(), press_timer(), question_until_, state_timer()});
}

Instant Core::line_timer() const noexcept {
    return std::min(
        {line_.settles_at(), line_.unreadable_at(), line_.readable_at(), line_.retry_at()});
}

Instant Core::state_timer() const noexcept {
    switch (state_) {
    case State::countdown:
        return countdown_timer();
    case State::asked:
    case State::unanswered:
    case State::leaving:
    case State::refused:
        return state_until_;
    case State::waiting:
    case State::rest:
    case State::holding:
    case State::ready:
    case State::stuck:
    case State::fault:
        break;
    }
    return never;
}

void Core::pass_timer(Instant at) {
    if (line_timer() == at) {
        pass_line_timer(at);
    } else if (press_timer() == at) {
        pass_press_timer(at);
    } else if (question_until_ == at) {
        question_until_ = never;
        cannot_tell(at);
    } else {
        pass_state_timer(at);
    }
}

void Core::pass_line_timer(Instant at) {
    if (line_.readable_at() == at) {  // before what may find it unreadable at that very moment
        note(at, Why::line_readable, line_.readable_again());
    } else if (line_.settles_at() == at) {
        settle(line_.settle());
    } else if (line_.unreadable_at() == at) {
        on_line_gone(at, Why::line_unreadable);
    } else {
        line_.retry();
        note(at, Why::line_retry);
        actions_.push(OpenLine{});
    }
}

void Core::pass_state_timer(Instant at) {
    switch (state_) {
    case State::countdown:
        decision_.at = at;
        ask(decision_);
        return;
    case State::asked:
        pass_asked(at);
        return;
    case State::unanswered:
        refuse(at, Why::given_up);
        return;
    case State::leaving:
        if (dry_) {
            pass_dry(at);
            return;
        }
        state_until_ = at + limits().preparing_again;
        ask_preparing(at);
        return;
    case State::refused:
        to_rest(at, Why::refusal_over);
        return;
    case State::waiting:
    case State::rest:
    case State::holding:
    case State::ready:
    case State::stuck:
    case State::fault:
        break;
    }
    NIGHTLATCH_ENSURE(false);  // timer() named something that is not due
}

/// What becomes due because the button is, confirmed, still pressed.
Instant Core::press_timer() const noexcept {
    if (!line_.debounce().confirmed_pressed()) {
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
        due = calls_off_at();
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
    return due == never ? never : std::max(due, line_.settled_at());
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
               next != no_index && std::max(stage_instant(next), line_.settled_at()) == at) {
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

/// The countdown's end waits for an episode, or for a press: whoever is on the button means it.
Instant Core::countdown_timer() const noexcept {
    const Debounce& line = line_.debounce();
    const bool undecided =
        line.in_episode() || (line.confirmed_pressed() && press_begin_ >= decision_.released);
    return undecided ? never : std::max(state_until_, line_.settled_at());
}

/// When the press that is down calls the countdown off, if it began in it.
Instant Core::calls_off_at() const noexcept {
    if (press_begin_ < decision_.released) {
        return never;
    }
    return std::max(decision_.released + limits().call_off_pause,
                    press_begin_ + limits().call_off_hold);
}

/// Late edges of a chip that sleeps are waited for, whatever the settings say.
Duration Core::guard() const noexcept {
    if (settings_->act_on == ActOn::release) {
        return Duration::zero();
    }
    return std::max(settings_->threshold_guard,
                    line_.sleeps() ? limits().sleeping_guard : limits().guard);
}

Instant Core::stage_instant(std::uint32_t index) const noexcept {
    return press_begin_ + settings_->stages[index].hold + guard();
}

std::uint32_t Core::next_stage() const noexcept {
    const std::uint32_t next = reached_ == no_index ? 0 : reached_ + 1;
    return next < settings_->stages.size() ? next : no_index;
}

}  // namespace nightlatch::core
