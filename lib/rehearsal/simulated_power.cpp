// SPDX-License-Identifier: MIT
#include "rehearsal/simulated_power.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::rehearsal {
namespace {

using core::AnswerKind;
using core::BeingPrepared;
using core::GoingDownKind;
using namespace std::chrono_literals;

/// From the answer to PrepareForShutdown(true).
constexpr Duration begins_after = 10ms;

}  // namespace

SimulatedPower::SimulatedPower(const ports::Clock& clock,
                               ports::PowerListener& listener,
                               std::function<void(const std::string&)> told)
    : clock_(clock), listener_(listener), told_(std::move(told)) {}

void SimulatedPower::ask(std::uint32_t request,
                         core::Action action,
                         core::Inhibitors /*inhibitors*/) {
    to_send_ = request;
    action_ = action;
    later(0s, [this] { send(); });
}

void SimulatedPower::withdraw(std::uint32_t request) {
    if (to_send_ == request) {
        to_send_.reset();
    }
}

void SimulatedPower::ask_preparing(std::uint32_t question) {
    question_ = question;
    later(0s, [this] { tell_preparing(); });
}

/// Once for each request, whatever else is due.
void SimulatedPower::send() {
    if (!to_send_ || !listener_.may_send(*to_send_)) {
        return;
    }
    const std::uint32_t request = *std::exchange(to_send_, std::nullopt);
    if (!present_) {  // the second route: a root path unit takes it up, and no signal tells of it
        answer_later(request, AnswerKind::taken_up, "by the second route");
    } else if (answers_.word == AnswerWord::accept) {
        const GoingDownKind kind =
            action_ == core::Action::reboot ? GoingDownKind::reboot : GoingDownKind::power_off;
        answer_later(request, AnswerKind::accepted, {});
        later(answers_.after + begins_after, [this, kind] { go_down(kind); });
    } else if (answers_.word == AnswerWord::refuse) {
        answer_later(request, AnswerKind::refused, answers_.reason);
    }
    listener_.answered(request, AnswerKind::sent, {});
}

void SimulatedPower::answer_later(std::uint32_t request, AnswerKind kind, const std::string& text) {
    later(answers_.after,
          [this, request, kind, text] { listener_.answered(request, kind, {text}); });
}

void SimulatedPower::tell_preparing() {
    if (!question_) {
        return;
    }
    BeingPrepared told = BeingPrepared::cannot_tell;
    if (present_) {
        told = preparing_ ? BeingPrepared::yes : BeingPrepared::no;
    }
    listener_.preparing(*std::exchange(question_, std::nullopt), told);
}

void SimulatedPower::hold_delay(bool hold) {
    if (delay_held_ && !hold && told_) {
        told_("the delay lock is released: Nightlatch no longer delays the shutdown");
    }
    delay_held_ = hold;
}

Instant SimulatedPower::next_due() const noexcept {
    return due_.empty() ? never : due_.front().at;
}

void SimulatedPower::play() {
    while (next_due() <= clock_.now()) {
        const Due due = std::move(due_.front());
        due_.erase(due_.begin());
        due.happens();
    }
}

void SimulatedPower::take(LoginDoes does) {
    switch (does) {
    case LoginDoes::vanish:
        due_.clear();
        present_ = false;
        preparing_ = false;
        later(0s, [this] { listener_.login_manager(false); });
        later(0s, [this] { tell_preparing(); });
        later(0s, [this] { send(); });
        return;
    case LoginDoes::comes_back:
        present_ = true;
        later(0s, [this] { listener_.login_manager(true); });
        return;
    case LoginDoes::power_off:
        shut_down_by_others(GoingDownKind::power_off);
        return;
    case LoginDoes::reboot:
        shut_down_by_others(GoingDownKind::reboot);
        return;
    case LoginDoes::call_off:
        give_up();
        return;
    }
}

void SimulatedPower::give_up() {
    if (std::exchange(preparing_, false)) {
        later(0s, [this] { listener_.going_down(false, GoingDownKind::unknown); });
    }
}

void SimulatedPower::greet() {
    nothing_is_due();
    delay_held_ = false;
    if (present_) {
        later(0s, [this] { listener_.login_manager(true); });
    }
}

void SimulatedPower::forget() {
    nothing_is_due();
    present_ = true;
    preparing_ = false;
    delay_held_ = false;
}

void SimulatedPower::nothing_is_due() {
    due_.clear();
    to_send_.reset();
    question_.reset();
}

void SimulatedPower::later(Duration delay, std::function<void()> happens) {
    const Instant at = clock_.now() + delay;
    const auto place = std::upper_bound(
        due_.begin(), due_.end(), at, [](Instant when, const Due& due) { return when < due.at; });
    due_.insert(place, {at, std::move(happens)});
}

void SimulatedPower::go_down(GoingDownKind kind) {
    if (!std::exchange(preparing_, true)) {
        listener_.going_down(true, kind);
    }
}

void SimulatedPower::shut_down_by_others(GoingDownKind kind) {
    if (present_) {
        later(0s, [this, kind] { go_down(kind); });
    }
}

}  // namespace nightlatch::rehearsal
