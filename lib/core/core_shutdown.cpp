// SPDX-License-Identifier: MIT
// A shutdown, ours or somebody else's: its beginning and its end as the login manager tells them,
// and as it answers when it is asked.
#include "core/core.hpp"

namespace nightlatch::core {

void Core::take(const GoingDown& going) {
    if (going.active) {
        on_going_down(going);
    } else {
        on_not_going_down(going.at, Why::not_going_down);
    }
}

/// PrepareForShutdown(true): every row leads to leaving; anyone's shutdown voids holds and
/// countdowns. What has not been sent by now is not asked any more.
void Core::on_going_down(const GoingDown& going) {
    if (state_ == State::leaving && !dry_) {
        known_going_ = going.at;
        note(going.at, Why::ignored);
        return;
    }
    drop_unsent(going.at);
    if (request_.open && !request_.sent) {  // an alarm's
        withdraw();
        asking_alarm()->put_off(going.at);
    }
    const bool own = request_.open;
    const bool reboot = own && decision_.action == Action::reboot;
    const bool stuck = !hold_back_if_pressed(going.at, reboot ? GoingDownKind::reboot : going.kind);
    leave(going.at, Why::going_down, own);
    if (stuck) {
        note(going.at, Why::stuck, going.at - press_begin_);
    }
}

void Core::leave(Instant at, Why why, bool own) {
    own_ = own;
    dry_ = false;
    known_going_ = at;
    state_until_ = at + limits().preparing_again;
    enter(State::leaving, at, why);
}

/// The supply may hang on the button: while a finger is on it the machine should not go down. Not
/// for a reboot, not for a stuck button, not where the circuit does without. False where it is not
/// held back because the button is stuck.
bool Core::hold_back_if_pressed(Instant at, GoingDownKind kind) {
    const bool pressed = kind != GoingDownKind::reboot && settings_->act_on == ActOn::release &&
                         line_.debounce().settled_pressed();
    const bool stuck = state_ == State::stuck || at >= press_begin_ + settings_->stuck_after;
    holding_back_ = pressed && !stuck;
    return holding_back_ == pressed;
}

void Core::on_not_going_down(Instant at, Why why) {
    switch (state_) {
    case State::asked:
    case State::unanswered:
        if (!request_.sent) {
            withdraw();
        }
        refuse(at, why);
        break;
    case State::leaving:
        holding_back_ = false;
        request_.open = false;
        if (own_) {
            refuse(at, why);
        } else {
            to_rest(at, why);
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
        note(at, Why::ignored);
        break;
    }
}

// --- is a shutdown being prepared? ---------------------------------------------------------------

void Core::ask_preparing(Instant at) {
    question_until_ = at + limits().preparing_patience;
    actions_.push(AskPreparing{++question_});
}

void Core::take(const Preparing& preparing) {
    if (preparing.question != question_ || question_until_ == never) {
        note(preparing.at, Why::ignored);  // of an older question, or one that has its answer
        return;
    }
    question_until_ = never;
    switch (preparing.told) {
    case BeingPrepared::yes:
        on_going_down({preparing.at, true, GoingDownKind::unknown});
        break;
    case BeingPrepared::no:
        not_preparing(preparing);
        break;
    case BeingPrepared::cannot_tell:
        cannot_tell(preparing.at);
        break;
    }
}

/// As PrepareForShutdown(false), but not against a request that was sent after the question was
/// put, or has not been yet; nor against what is only shown.
void Core::not_preparing(const Preparing& preparing) {
    const bool ours = state_ == State::asked || state_ == State::unanswered || own_;
    const bool too_old = !request_.sent || preparing.question <= request_.asked_before;
    if ((ours && too_old) || (state_ == State::leaving && dry_)) {
        note(preparing.at, Why::ignored);
        return;
    }
    const bool accepted = state_ == State::asked && request_.accepted;
    on_not_going_down(preparing.at, accepted ? Why::nothing_came : Why::not_preparing);
}

void Core::cannot_tell(Instant at) {
    if (state_ == State::asked && request_.accepted && state_until_ == never) {
        to_unanswered(at, Why::preparing_unknown);
    } else if (state_ == State::leaving && at >= known_going_ + limits().longest_shutdown) {
        on_not_going_down(at, Why::preparing_unknown);
    } else {
        note(at, Why::preparing_unknown);
    }
}

/// One that is gone takes what was sent to it along, or not; its successor is asked.
void Core::take(const LoginManager& manager) {
    if (manager.present) {
        note(manager.at, Why::login_manager_back);
        ask_preparing(manager.at);
    } else if (state_ == State::asked && request_.sent && !request_.by_second_route) {
        to_unanswered(manager.at, Why::login_manager_gone);
    } else {
        note(manager.at, Why::login_manager_gone);
    }
}

}  // namespace nightlatch::core
