// SPDX-License-Identifier: MIT
// What is decided, and the life of a request: asked, unanswered, leaving, refused.
#include "core/core.hpp"

#include <algorithm>

namespace nightlatch::core {

// --- deciding ------------------------------------------------------------------------------------

/// The press ended at `end` (or, acting on the threshold, has not): the longest stage reached acts.
void Core::decide_stage(Instant at, Instant end) {
    const Duration held = end - press_begin_;
    std::uint32_t stage = no_index;
    for (std::uint32_t i = 0; i < settings_->stages.size() && settings_->stages[i].hold <= held;
         ++i) {
        stage = i;
    }
    if (settings_->act_on == ActOn::threshold) {
        stage = reached_;  // while held the guard counts too; a release never acts
    }
    if (stage == no_index) {
        to_rest(at, Why::near_miss, held);
        return;
    }
    reached_ = stage;
    const Stage& chosen = settings_->stages[stage];
    note(at, Why::decided, held, stage);
    decide({at, chosen.action, settings_->inhibitors, stage, no_index, held, end});
}

void Core::decide(const Decision& decision) {
    decision_ = decision;
    const bool by_alarm = decision.alarm != no_index;
    if (unconfirmed_) {  // an announcement: the edges of another press have confirmed it since
        actions_.push(*unconfirmed_);
        unconfirmed_.reset();
    }
    if (decision.action == Action::announce) {
        unconfirmed_ = Publish{decision.at, decision.stage, decision.alarm, decision.held};
        to_rest(decision.at, Why::announced);
        return;
    }
    const bool stays_on = verdict_ == Verdict::contradicted || verdict_ == Verdict::absent;
    if (decision.action == Action::power_off && stays_on && !by_alarm &&
        settings_->without_post_halt == WithoutPostHalt::refuse) {
        state_until_ = decision.at + limits::refusal_shown;
        enter(State::refused, decision.at, Why::no_post_halt);
        return;
    }
    if (settings_->grace > Duration::zero()) {
        state_until_ = decision.at + settings_->grace;
        enter(State::countdown, decision.at, Why::countdown_begun, settings_->grace);
        return;
    }
    ask(decision);
}

void Core::ask(const Decision& decision) {
    decision_ = decision;
    state_until_ = decision.at + limits::patience;
    own_request_ = true;
    unconfirmed_ = Ask{decision.at,
                       decision.action,
                       decision.inhibitors,
                       decision.stage,
                       decision.alarm,
                       decision.held};
    enter(State::asked, decision.at, Why::asked, decision.held, decision.stage);
}

/// What a press decided and no read has confirmed yet does not happen. An alarm needs no read of
/// the button.
bool Core::drop_unconfirmed(Instant at) {
    if (!unconfirmed_ || decision_.alarm != no_index) {
        return false;
    }
    unconfirmed_.reset();
    if (state_ == State::asked || state_ == State::unanswered) {
        own_request_ = false;
        enter(State::waiting, at, Why::voided);
    }
    return true;
}

// --- the state table's columns of requests -------------------------------------------------------

void Core::take(const AlarmDue& due) {
    on_alarm(due);
}

void Core::on_alarm(const AlarmDue& due) {
    const Alarm& alarm = settings_->alarms[due.alarm];
    const Decision decision{
        due.at, alarm.action, alarm.inhibitors, no_index, due.alarm, {}, due.at};
    note(due.at, Why::alarm, {}, due.alarm);
    switch (state_) {
    case State::waiting:
    case State::rest:
    case State::stuck:
    case State::refused:
    case State::fault:
    case State::holding:  // the press is spent: whatever follows is not `holding`
    case State::ready:
        decide(decision);
        break;
    case State::countdown:
        ask(decision);
        break;
    case State::asked:
    case State::unanswered:
    case State::leaving:
        note(due.at, Why::ignored);
        break;
    }
}

void Core::take(const Answer& answer) {
    on_answer(answer);
}

void Core::on_answer(const Answer& answer) {
    if (unconfirmed_) {  // has not left yet, so this answers an older one
        note(answer.at, Why::ignored);
        return;
    }
    const bool accepted = answer.kind == AnswerKind::accepted;
    switch (state_) {
    case State::asked:
        if (accepted) {
            state_until_ = answer.at + limits::patience;
            note(answer.at, Why::request_accepted);
            return;
        }
        break;
    case State::unanswered:
        if (accepted) {
            enter(State::leaving, answer.at, Why::request_accepted);
            return;
        }
        break;
    case State::leaving:
        if (accepted) {
            note(answer.at, Why::request_accepted);
            return;
        }
        break;
    case State::waiting:
    case State::rest:
    case State::holding:
    case State::ready:
    case State::stuck:
    case State::countdown:
    case State::refused:
    case State::fault:
        note(answer.at, Why::ignored);
        return;
    }
    own_request_ = false;
    holding_back_ = false;
    state_until_ = answer.at + limits::refusal_shown;
    enter(State::refused, answer.at, Why::request_refused);
}

void Core::take(const GoingDown& going) {
    if (going.active) {
        on_going_down(going);
    } else {
        on_not_going_down(going.at);
    }
}

/// PrepareForShutdown(true): every row leads to leaving; anyone's shutdown voids holds and
/// countdowns.
void Core::on_going_down(const GoingDown& going) {
    if (state_ == State::leaving) {
        note(going.at, Why::ignored);
        return;
    }
    drop_unconfirmed(going.at);
    const bool left = !unconfirmed_;  // what did not leave by now is not asked any more
    unconfirmed_.reset();
    const bool ours = left && (state_ == State::asked || state_ == State::unanswered);
    own_request_ = ours;
    const bool reboot = ours && decision_.action == Action::reboot;
    hold_back_if_pressed(going.at, reboot ? GoingDownKind::reboot : going.kind);
    enter(State::leaving, going.at, Why::going_down);
}

/// The supply may hang on the button: while a finger is on it the machine should not go down. Not
/// for a reboot, not for a stuck button, not where the circuit does without.
void Core::hold_back_if_pressed(Instant at, GoingDownKind kind) {
    holding_back_ = kind != GoingDownKind::reboot && settings_->act_on == ActOn::release &&
                    debounce_.confirmed_pressed() && at < press_begin_ + settings_->stuck_after;
}

void Core::on_not_going_down(Instant at) {
    switch (state_) {
    case State::leaving:
        own_request_ = false;
        holding_back_ = false;
        to_waiting(at, Why::not_going_down);
        break;
    case State::unanswered:
        own_request_ = false;
        to_rest(at, Why::not_going_down);
        break;
    case State::waiting:
    case State::rest:
    case State::holding:
    case State::ready:
    case State::stuck:
    case State::countdown:
    case State::asked:
    case State::refused:
    case State::fault:
        note(at, Why::ignored);
        break;
    }
}

void Core::take(const LoginManager& manager) {
    if (!manager.present) {
        if (state_ == State::asked && !unconfirmed_) {
            enter(State::unanswered, manager.at, Why::login_manager_gone);
        } else {
            note(manager.at, Why::login_manager_gone);
        }
        return;
    }
    if (manager.preparing) {
        on_going_down({manager.at, true, GoingDownKind::unknown});
        return;
    }
    const bool failed = own_request_ && (state_ == State::unanswered || state_ == State::leaving);
    if (failed) {
        own_request_ = false;
        holding_back_ = false;
        state_until_ = manager.at + limits::refusal_shown;
        enter(State::refused, manager.at, Why::login_manager_back);
    } else if (state_ == State::leaving) {
        on_not_going_down(manager.at);
    } else {
        note(manager.at, Why::login_manager_back);
    }
}

void Core::take(const VerdictKnown& known) {
    verdict_ = known.verdict;
}

void Core::update_delay_lock() {
    const bool wanted = state_ != State::leaving || holding_back_;
    if (wanted != lock_wanted_) {
        lock_wanted_ = wanted;
        actions_.push(DelayLock{wanted});
    }
}

}  // namespace nightlatch::core
