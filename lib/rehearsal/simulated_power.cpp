// SPDX-License-Identifier: MIT
#include "rehearsal/simulated_power.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::rehearsal {
namespace {

using core::AnswerKind;
using core::GoingDownKind;
using namespace std::chrono_literals;

/// From the answer to PrepareForShutdown(true).
constexpr Duration begins_after = 10ms;

}  // namespace

SimulatedPower::SimulatedPower(const ports::Clock& clock,
                               ports::PowerListener& listener,
                               std::function<void(const std::string&)> told)
    : clock_(clock), listener_(listener), told_(std::move(told)) {}

void SimulatedPower::ask(core::Action action, core::Inhibitors /*inhibitors*/) {
    if (!present_) {  // the second route: a root path unit takes it up, and no signal tells of it
        later(answers_.after, [this] { answer(AnswerKind::accepted, "by the second route"); });
        return;
    }
    const GoingDownKind kind =
        action == core::Action::reboot ? GoingDownKind::reboot : GoingDownKind::power_off;
    switch (answers_.word) {
    case AnswerWord::accept:
        later(answers_.after, [this] { answer(AnswerKind::accepted, {}); });
        later(answers_.after + begins_after, [this, kind] { go_down(kind); });
        return;
    case AnswerWord::refuse:
        later(answers_.after, [this] { answer(AnswerKind::refused, answers_.reason); });
        return;
    case AnswerWord::none:
        return;
    }
}

void SimulatedPower::hold_delay(bool hold) {
    if (delay_held_ && !hold && told_) {
        told_("the delay inhibitor is let go: nothing of ours holds the shutdown up");
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
        later(0s, [this] { listener_.login_manager(false, false); });
        return;
    case LoginDoes::comes_back:
        present_ = true;
        later(0s, [this] { listener_.login_manager(true, false); });
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
    due_.clear();
    delay_held_ = false;
    if (present_) {
        later(0s, [this] { listener_.login_manager(true, preparing_); });
    }
}

void SimulatedPower::forget() {
    due_.clear();
    present_ = true;
    preparing_ = false;
    delay_held_ = false;
}

void SimulatedPower::later(Duration delay, std::function<void()> happens) {
    const Instant at = clock_.now() + delay;
    const auto place = std::upper_bound(
        due_.begin(), due_.end(), at, [](Instant when, const Due& due) { return when < due.at; });
    due_.insert(place, {at, std::move(happens)});
}

void SimulatedPower::answer(AnswerKind kind, const std::string& text) {
    listener_.answered(kind, text);
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
