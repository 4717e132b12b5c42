// SPDX-License-Identifier: MIT
// The ways in and out, and moving from state to state. Time is in core_time.cpp, the line in
// core_line.cpp, requests and their life in core_requests.cpp, shutdowns in core_shutdown.cpp,
// alarms in core_alarms.cpp.
//
// Acting on release (R: released, P: pressed; D: debounce; H: the stage's hold):
//
//   line    RRRR|PPPPPPPPPPPPPPPPPPPPPPPP|RRRRRR
//   settled      D^press                   D^release
//   state   rest  holding ....H^ready .......^decided: asked
//
#include "core/core.hpp"

#include <algorithm>
#include <type_traits>
#include <utility>

namespace nightlatch::core {

Core::Core(std::shared_ptr<const Settings> settings, const std::vector<KnownAlarm>& known)
    : settings_(std::move(settings)) {
    line_.set(*settings_);
    actions_.push(DelayLock{true});
    actions_.push(OpenLine{});
    set_alarms(known);
}

// --- the ways in and out -------------------------------------------------------------------------

void Core::feed(const Input& input) {
    std::visit(
        [this](const auto& given) {
            if constexpr (std::is_constructible_v<Message, decltype(given)>) {
                hear(given);
            } else if constexpr (requires { given.line; }) {
                given.line == button_line ? take(given) : take_elsewhere(given);
            } else {
                take(given);
            }
        },
        input);
    update_delay_lock();
}

void Core::advance(Instant now) {
    if (now < advanced_) {
        return;
    }
    advanced_ = now;
    const Instant contradicted = line_.contradicted_since();
    if (contradicted != never) {
        if (now < contradicted + limits().contradiction_patience) {
            return;
        }
        demand_resync(now, ResyncWhy::contradiction);
    }
    alarm_contradictions(now);
    run_until(now, Deadlines::all);
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
    if (line_.contradicted_since() != never) {
        return line_.last_read() + limits().read_again;
    }
    Instant due = std::min(timer(), message_at());
    for (const AlarmWatch& alarm : alarms_) {
        due = std::min(due, read_due(alarm));
    }
    return due;
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

bool Core::suspects(LineIndex line) const noexcept {
    return line == button_line ? line_.suspect() : alarms_[line - 1].line().suspect();
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
        cue.until = line_.retry_at();
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

/// Of an alarm's line; what comes of one that no alarm has is traced.
template <class Given>
void Core::take_elsewhere(const Given& given) {
    if (given.line <= alarms_.size()) {
        take_alarm(alarms_[given.line - 1], given);
    } else if constexpr (requires { given.stamp; }) {
        note(given.stamp, Why::ignored);
    } else {
        note(given.at, Why::ignored);
    }
}

// --- messages ------------------------------------------------------------------------------------

/// At once, if no deadline that was due before it is open.
void Core::hear(const Message& message) {
    if (messages_.full()) {
        hear_next();
    }
    const Instant at = std::visit([](const auto& given) { return given.at; }, message);
    messages_.push({at, message});
    const bool open = line_.contradicted_since() != never || unconfirmed_ ||
                      std::min(timer(), alarms_at()) <= message_at();
    if (!open && messages_.size() == 1) {
        hear_next();
    }
}

void Core::hear_next() {
    const Message next = messages_.pop()->message;
    std::visit([this](const auto& given) { take(given); }, next);
}

/// The line is not known any more: what waited for it does no longer.
void Core::hear_all() {
    while (messages_.size() > 0) {
        hear_next();
    }
}

Instant Core::message_at() const noexcept {
    return messages_.first() == nullptr ? never : messages_.first()->at;
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
    const Debounce& line = line_.debounce();
    if (line_.closed()) {
        enter(State::fault, at, why, length);
    } else if (line.settled_released()) {
        enter(State::rest, at, why, length);
    } else {
        waiting_pressed_since_ = line.settled_pressed() ? at : never;
        enter(State::waiting, at, why, length);
    }
}

}  // namespace nightlatch::core
