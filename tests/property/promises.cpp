// SPDX-License-Identifier: MIT
#include "property/promises.hpp"

#include <algorithm>
#include <variant>

namespace nightlatch::test {

using namespace core;
using namespace std::chrono_literals;

void Promises::told(const Input& input, Instant now) {
    if (const auto* answer = std::get_if<Answer>(&input)) {
        answered(*answer);
    } else if (const auto* going = std::get_if<GoingDown>(&input)) {
        if (!going->active) {
            request_ = 0;
        }
        prepared(going->active, now);
    } else if (const auto* told = std::get_if<Preparing>(&input);
               told != nullptr && question_ != 0 && told->question == question_) {
        question_ = 0;
        if (told->told == BeingPrepared::cannot_tell) {
            return;
        }
        if (told->told == BeingPrepared::no && (!asked_since_ || going_down_)) {
            request_ = 0;
        }
        // Nobody waits for longer than 5 s, and a loop may have been late.
        prepared(told->told == BeingPrepared::yes && now < question_at_ + 3s, now);
    }
}

void Promises::answered(const Answer& answer) {
    if (answer.request != request_ || answer.at >= free_at_) {
        return;
    }
    switch (answer.kind) {
    case AnswerKind::sent:
        break;
    case AnswerKind::accepted:  // if the login manager goes then, it is unanswered for 30 s
        free_at_ = std::max(asked_at_ + 2min, answer.at + 30s);
        break;
    case AnswerKind::taken_up:
        free_at_ = answer.at + 5min;
        break;
    case AnswerKind::refused:
    case AnswerKind::would_do:
        request_ = 0;
        break;
    }
}

void Promises::prepared(bool yes, Instant now) {
    going_down_ = yes;
    known_going_ = now;
}

std::string Promises::left(const ActionOut& action, Instant now) {
    if (const auto* ask = std::get_if<Ask>(&action)) {
        return asked(*ask, now);
    }
    if (const auto* question = std::get_if<AskPreparing>(&action)) {
        question_ = question->question;
        question_at_ = now;
        asked_since_ = false;
    } else if (const auto* withdraw = std::get_if<Withdraw>(&action);
               withdraw != nullptr && withdraw->number == request_) {
        request_ = 0;
    }
    return {};
}

std::string Promises::asked(const Ask& ask, Instant now) {
    std::string broken;
    if (request_ != 0 && now < free_at_) {
        broken += "a second request while one is outstanding; ";
    }
    if (going_down_ && now < known_going_ + 30min) {
        broken += "a request while the machine goes down; ";
    }
    request_ = ask.number;
    asked_at_ = ask.at;
    free_at_ = ask.at + 2min;
    asked_since_ = true;
    return broken;
}

}  // namespace nightlatch::test
