// SPDX-License-Identifier: MIT
// What is decided, and the life of a request: asked, unanswered, leaving, refused.
#include "core/core.hpp"

#include <algorithm>
#include <utility>

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
    if (unconfirmed_) {  // an announcement: the edges of another press have confirmed it since
        actions_.push(*unconfirmed_);
        unconfirmed_.reset();
    }
    if (decision.action == Action::announce) {
        unconfirmed_ = Publish{decision.at, decision.stage, no_index, decision.held};
        to_rest(decision.at, Why::announced);
        return;
    }
    const bool stays_on = verdict_ == Verdict::contradicted || verdict_ == Verdict::absent;
    if (decision.action == Action::power_off && stays_on &&
        settings_->without_post_halt == WithoutPostHalt::refuse) {
        refuse(decision.at, Why::no_post_halt);
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
    state_until_ = decision.at + limits().patience;
    request_ = {.number = request_.number + 1, .open = true, .asked_at = decision.at};
    unconfirmed_ = Ask{decision.at,
                       request_.number,
                       decision.action,
                       decision.inhibitors,
                       decision.stage,
                       decision.alarm,
                       decision.held};
    enter(State::asked, decision.at, Why::asked, decision.held, decision.stage);
}

/// What a press decided and has not been sent does not happen when the line is not known any more.
/// An alarm does not ask for the button's.
bool Core::drop_unsent(Instant at) {
    if (decision_.alarm != no_index) {
        return false;
    }
    if (request_.open && !request_.sent) {
        withdraw();
        enter(State::waiting, at, Why::voided);
        return true;
    }
    const bool announcement = unconfirmed_.has_value();
    unconfirmed_.reset();
    return announcement;
}

/// The request is over, and whoever has not sent it yet does not.
void Core::withdraw() {
    request_.open = false;
    if (!unconfirmed_) {
        actions_.push(Withdraw{request_.number});
    }
    unconfirmed_.reset();
}

/// The latest request is over, or nothing was asked.
void Core::refuse(Instant at, Why why, std::uint32_t words) {
    if (AlarmWatch* const alarm = asking_alarm()) {
        alarm->refused(at);
    }
    request_.open = false;
    own_ = false;
    holding_back_ = false;
    state_until_ = at + limits().refusal_shown;
    enter(State::refused, at, why, {}, words);
}

// --- the state table's columns of requests -------------------------------------------------------

void Core::take(const Answer& answer) {
    const bool latest = answer.request == request_.number && !unconfirmed_;
    if (!latest || (!request_.open && answer.kind != AnswerKind::refused)) {
        note(answer.at, Why::answered_late, {}, answer.words);
        return;
    }
    switch (answer.kind) {
    case AnswerKind::sent:
        mark_sent();
        note(answer.at, Why::request_sent);
        break;
    case AnswerKind::accepted:
    case AnswerKind::taken_up:
        on_accepted(answer);
        break;
    case AnswerKind::refused:
        on_refused(answer);
        break;
    case AnswerKind::would_do:
        on_would_do(answer);
        break;
    }
}

/// Once: told again, after the question that its acceptance led to, it must not make that question
/// one from before the request.
void Core::mark_sent() {
    if (!std::exchange(request_.sent, true)) {
        request_.asked_before = question_;
    }
}

/// A dry run's. A real shutdown that came first counts as in a real run, but is not ours.
void Core::on_would_do(const Answer& answer) {
    request_.open = false;
    if (state_ == State::leaving) {
        own_ = false;
        note(answer.at, Why::dry_leaving);
        return;
    }
    leave(answer.at, Why::dry_leaving, false);
    dry_ = true;
    state_until_ = answer.at + limits().dry_shown;
}

/// Only asked and unanswered wait for it.
void Core::on_accepted(const Answer& answer) {
    mark_sent();
    if (state_ != State::asked && state_ != State::unanswered) {
        note(answer.at, Why::request_accepted, {}, answer.words);
        return;
    }
    request_.accepted = true;
    request_.by_second_route = request_.by_second_route || answer.kind == AnswerKind::taken_up;
    state_until_ =
        answer.at + (request_.by_second_route ? limits().route_patience : limits().patience);
    enter(State::asked, answer.at, Why::request_accepted, {}, answer.words);
}

void Core::on_refused(const Answer& answer) {
    const bool was_open = std::exchange(request_.open, false);
    switch (state_) {
    case State::asked:
    case State::unanswered:
    case State::refused:  // it failed before it was said why
        refuse(answer.at, Why::request_refused, answer.words);
        break;
    case State::leaving:  // ours has failed; is it somebody else's shutdown?
        note(answer.at, was_open ? Why::request_failed : Why::answered_late, {}, answer.words);
        ask_preparing(answer.at);
        break;
    case State::waiting:
    case State::rest:
    case State::holding:
    case State::ready:
    case State::stuck:
    case State::countdown:
    case State::fault:
        note(answer.at, Why::answered_late, {}, answer.words);
        break;
    }
}

/// Asked for its whole patience.
void Core::pass_asked(Instant at) {
    if (!request_.sent) {
        withdraw();
        refuse(at, Why::not_sent);
    } else if (request_.by_second_route) {
        refuse(at, Why::nothing_came);
    } else if (request_.accepted) {
        state_until_ = never;  // the answer decides, or that there is none
        ask_preparing(at);
    } else {
        to_unanswered(at, Why::no_answer);
    }
}

void Core::to_unanswered(Instant at, Why why) {
    state_until_ =
        std::max(request_.asked_at + limits().answer_patience, at + limits().unanswered_least);
    enter(State::unanswered, at, why);
}

/// What a real machine would not live to see.
void Core::pass_dry(Instant at) {
    if (AlarmWatch* const alarm = asking_alarm()) {
        alarm->refused(at);
    }
    to_rest(at, Why::dry_over);
}

/// Nothing to call off but a countdown, or a press's request that has not been sent.
void Core::take(const CallOff& call_off) {
    const bool unsent = state_ == State::asked && !request_.sent && decision_.alarm == no_index;
    const bool done = unsent || state_ == State::countdown;
    if (unsent) {
        withdraw();
    }
    if (done) {
        to_rest(call_off.at, Why::called_off_from_outside);
    } else {
        note(call_off.at, Why::nothing_to_call_off);
    }
    actions_.push(CalledOff{done});
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
