// SPDX-License-Identifier: MIT
#include "daemon/bus/gate.hpp"

#include "base/duration_text.hpp"
#include "daemon/bus/polkit.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::bus {
namespace {

constexpr std::uint32_t root = 0;

MessageHandle uid_question(sd_bus* bus, const std::string& name) {
    sd_bus_message* message = nullptr;
    sd_bus_message_new_method_call(
        bus, &message, bus_name, "/org/freedesktop/DBus", bus_name, "GetConnectionUnixUser");
    MessageHandle owned{message};
    const bool whole = message != nullptr && sd_bus_message_append(message, "s", name.c_str()) >= 0;
    return whole ? std::move(owned) : MessageHandle{};
}

}  // namespace

Gate::Gate(sys::EventLoop& loop,
           const char* action,
           Duration patience,
           std::function<void(Caller)> let_in)
    : timer_(loop.timer([this] { pass_deadline(); })), loop_(loop), action_(action),
      patience_(patience), let_in_(std::move(let_in)) {}

void Gate::connection(sd_bus* bus) {
    questions_.clear();
    timer_.disarm();
    bus_ = bus;
}

void Gate::knock(sd_bus_message* call) {
    if (questions_.size() >= most_questions) {
        sd_bus_reply_method_errorf(
            call, SD_BUS_ERROR_LIMITS_EXCEEDED, "too many callers at once: try again");
        return;
    }
    const char* sender = sd_bus_message_get_sender(call);
    Question& question = questions_.emplace_back(
        Question{*this,
                 loop_.now() + patience_,
                 {MessageHandle{sd_bus_message_ref(call)}, root, sender != nullptr ? sender : ""}});
    timer_.arm(questions_.front().until);
    question.asked = send(
        bus_, uid_question(bus_, question.caller.name), to<Question, &Question::on_uid>(&question));
    if (question.asked == nullptr) {
        turn_away(question, "the bus cannot be asked who calls");
    }
}

void Gate::Question::on_uid(sd_bus_message* reply) {
    asked.reset();
    if (sd_bus_message_is_method_error(reply, nullptr) > 0 ||
        sd_bus_message_read(reply, "u", &caller.uid) < 0) {
        gate.turn_away(*this, "the bus does not say who calls");
    } else if (caller.uid == root) {
        gate.let_in(*this);
    } else {
        asked = send(gate.bus_,
                     authorization_question(gate.bus_, caller.name.c_str(), gate.action_),
                     to<Question, &Question::on_authorized>(this));
        if (asked == nullptr) {
            gate.turn_away(*this, "polkit cannot be asked, so only root may");
        }
    }
}

void Gate::Question::on_authorized(sd_bus_message* reply) {
    asked.reset();
    const std::optional<bool> authorized = authorization_in(reply);
    if (authorized == true) {
        gate.let_in(*this);
    } else {
        gate.turn_away(*this,
                       authorized ? "polkit does not allow it"
                                  : "polkit does not answer, so only root may");
    }
}

void Gate::let_in(Question& question) {
    let_in_(take_out(question));
}

void Gate::turn_away(Question& question, const std::string& why) {
    const Caller caller = take_out(question);
    sd_bus_reply_method_errorf(caller.call.get(),
                               SD_BUS_ERROR_ACCESS_DENIED,
                               "%s (action %s): nothing was called off",
                               why.c_str(),
                               action_);
}

/// The question is no more.
Caller Gate::take_out(Question& question) {
    Caller caller = std::move(question.caller);
    questions_.remove_if([&question](const Question& each) { return &each == &question; });
    if (questions_.empty()) {
        timer_.disarm();
    } else {
        timer_.arm(questions_.front().until);
    }
    return caller;
}

void Gate::pass_deadline() {
    while (!questions_.empty() && questions_.front().until <= loop_.now()) {
        turn_away(questions_.front(), "no answer in " + to_text(patience_));
    }
}

}  // namespace nightlatch::bus
