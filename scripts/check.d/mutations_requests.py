# SPDX-License-Identifier: MIT
"""What scripts/mutate breaks of a request's life; see mutations.py."""

from mutations import ALARMS, CORE, LINE, ONE_LINE, READABILITY, REQUESTS, SHUTDOWN, TIME  # noqa: F401

REQUEST_MUTATIONS = {
    # --- the request's life
    "what was not sent is never withdrawn": [
        (REQUESTS, "    if (!request_.sent) {\n        withdraw();\n        refuse(at, Why::not_sent);",
         "    if (!request_.sent) {\n        refuse(at, Why::not_sent);"),
    ],
    "whoever may send is not asked for the request": [
        ("lib/core/core.hpp", "request_.open && request_.number == request", "request_.number == request"),
    ],
    "an answer to an older request is this one's": [
        (REQUESTS, "answer.request == request_.number && !unconfirmed_;",
         "answer.request <= request_.number && !unconfirmed_;"),
    ],
    "what was accepted is asked for ever": [
        (REQUESTS, "        state_until_ = never;  // the answer decides, or that there is none\n"
                   "        ask_preparing(at);",
         "        state_until_ = never;"),
    ],
    "what nobody answers is unanswered for ever": [
        (TIME, "        refuse(at, Why::given_up);", "        state_until_ = never;"),
    ],
    "unanswered may be over at once": [
        (REQUESTS, "at + limits().unanswered_least", "at"),
    ],
    "the second route has no more patience than the first": [
        (REQUESTS, "request_.by_second_route ? limits().route_patience : limits().patience",
         "limits().patience"),
    ],
    "a question that is older than the request ends it": [
        (SHUTDOWN, "preparing.question <= request_.asked_before", "false"),
    ],
    "a request that is not sent is ended by a question": [
        (SHUTDOWN, "    const bool too_old = !request_.sent ||", "    const bool too_old = false ||"),
    ],
    "an answer to an older question counts": [
        (SHUTDOWN, "    if (preparing.question != question_ || question_until_ == never) {",
         "    if (question_until_ == never) {"),
    ],
    "a question is waited for, for ever": [
        (TIME, "std::min({line_timer(), press_timer(), question_until_, state_timer()})",
         "std::min({line_timer(), press_timer(), state_timer()})"),
    ],
    "nobody asks whether the machine is still going down": [
        (TIME, "        state_until_ = at + limits().preparing_again;\n        ask_preparing(at);",
         "        state_until_ = never;"),
    ],
    "what cannot be told about going down is true for ever": [
        (SHUTDOWN, "at >= known_going_ + limits().longest_shutdown", "false"),
    ],
    "an own request that failed is forgotten when the shutdown is given up": [
        (SHUTDOWN, "    own_ = own;", "    own_ = false;"),
    ],
    "a dry run's answer ends a real shutdown": [
        (REQUESTS, "    if (state_ == State::leaving) {\n        own_ = false;",
         "    if (false) {\n        own_ = false;"),
    ],
    "CallOff takes back what was sent": [
        (REQUESTS, "state_ == State::asked && !request_.sent && decision_.alarm == no_index",
         "state_ == State::asked && decision_.alarm == no_index"),
    ],
    "CallOff takes an alarm back": [
        (REQUESTS, "state_ == State::asked && !request_.sent && decision_.alarm == no_index",
         "state_ == State::asked && !request_.sent"),
    ],
    "messages are heard before the timers have run": [
        (CORE, "line_.contradicted_since() != never || unconfirmed_ ||\n"
               "                      std::min(timer(), alarms_at()) <= message_at();", "false;"),
    ],
    "messages are heard while the level contradicts": [
        (CORE, "line_.contradicted_since() != never || unconfirmed_ ||", "unconfirmed_ ||"),
    ],
    "messages that wait are lost when the line is read anew": [
        (CORE, "    while (messages_.size() > 0) {\n        hear_next();",
         "    while (messages_.size() > 0) {\n        std::ignore = messages_.pop();"),
        (CORE, "#include <type_traits>", "#include <tuple>\n#include <type_traits>"),
    ],
    "the trace of a sample allocates": [
        (CORE, "    notes_.push({at, why, state_, state_, length, index});",
         "    notes_.push({at, why, state_, state_, length, index});\n"
         "    delete new std::string(40, 'x');"),
    ],
}
