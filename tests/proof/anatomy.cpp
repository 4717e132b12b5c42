// SPDX-License-Identifier: MIT
#include "anatomy.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::core {

using proof::Bounds;
using proof::Reader;
using proof::Writer;

namespace {

constexpr bool reads(const Reader&) {
    return true;
}

constexpr bool reads(const Writer&) {
    return false;
}

/// An index, or none.
template <class Codec>
void walk_index(Codec& codec, std::uint32_t& index, bool live) {
    auto small = static_cast<std::uint8_t>(index == no_index ? 0 : index + 1);
    codec.small(small, live);
    if (reads(codec)) {
        index = small == 0 ? no_index : small - 1U;
    }
}

bool is(State state, std::initializer_list<State> any) {
    return std::find(any.begin(), any.end(), state) != any.end();
}

}  // namespace

void Anatomy::write(Writer& writer, Core& core, const Bounds& bounds) {
    walk(writer, core, bounds);
    write_messages(writer, core);
}

void Anatomy::read(Reader& reader, Core& core, const Bounds& bounds) {
    core.actions_.clear();
    core.notes_.clear();
    walk(reader, core, bounds);
    read_messages(reader, core);
    core.look_wanted_ = false;
    core.lock_wanted_ = core.state_ != State::leaving || core.holding_back_;
}

template <class Codec>
void Anatomy::walk(Codec& codec, Core& core, const Bounds& bounds) {
    codec.small(core.state_);
    walk_line(codec, core.line_, bounds, false);
    for (AlarmWatch& alarm : core.alarms_) {
        walk_alarm(codec, alarm, bounds);
    }
    codec.stamp(core.since_, !core.alarms_.empty(), bounds.recent);
    walk_press(codec, core, bounds);
    walk_request(codec, core, bounds);
    walk_decision(codec, core, bounds);
    if (reads(codec)) {
        core.advanced_ = Instant::min();
        core.late_edges_ = 0;
    }
}

// --- a line --------------------------------------------------------------------------------------

template <class Codec>
void Anatomy::walk_line(Codec& codec, Line& line, const Bounds& bounds, bool alarms) {
    codec.small(line.life_);
    const bool open = line.life_ == Line::Life::open;
    const bool had = open || line.life_ == Line::Life::resyncing;
    const bool gone = line.life_ == Line::Life::gone;
    codec.small(line.newly_open_);
    codec.small(line.unreadable_);
    codec.small(line.sleeps_);
    codec.stamp(line.retry_at_, gone);
    codec.length(line.back_off_);
    const bool trial = line.limits_->trial > Duration::zero();
    codec.small(line.readability_.suspect_);
    const bool doubted =
        trial && (line.readability_.suspect_ || line.back_off_ != Duration::zero());
    codec.stamp(line.readability_.opened_at_, had && doubted, bounds.trial);
    walk_debounce(codec, line.debounce_, open, bounds);
    codec.stamp(line.settled_at_, open, alarms ? bounds.recent : bounds.overtaken);
    codec.stamp(line.contradiction_, open);
    const bool contradicted = open && line.contradiction_ != never;
    codec.small(line.read_failed_, contradicted);
    codec.stamp(line.last_read_, contradicted);
    if (reads(codec)) {
        if (!gone) {
            line.retry_at_ = never;
        }
        if (!open) {
            line.contradiction_ = never;
        }
        if (had && !doubted) {  // not before anything else that is known of the line
            line.readability_.opened_at_ -= bounds.leaving;
        }
        line.too_often_ = false;
        line.rate_ = 0;
        line.readability_.suspect_since_ = {};  // only told
        line.readability_.reset();
    }
}

template <class Codec>
void Anatomy::walk_debounce(Codec& codec, Debounce& debounce, bool open, const Bounds& bounds) {
    if (reads(codec) && !open) {
        debounce.lose();
    }
    codec.level(debounce.settled_);
    codec.level(debounce.raw_);
    codec.small(debounce.unsettled_);
    const bool settled = debounce.settled_ && !debounce.unsettled_;
    codec.stamp(debounce.stable_since_, open, settled ? bounds.overtaken : proof::unclamped);
    codec.stamp(debounce.episode_start_, open && !settled);
    codec.length(debounce.dropped_, debounce.settled_ == Level::active, debounce.release_);
}

template <class Codec>
void Anatomy::walk_alarm(Codec& codec, AlarmWatch& alarm, const Bounds& bounds) {
    walk_line(codec, alarm.line_, bounds, true);
    const Debounce& level = alarm.line_.debounce_;
    codec.small(alarm.looked_);
    codec.small(alarm.ignored_);
    codec.small(alarm.due_);
    const bool until_over = alarm.due_ || alarm.ignored_;
    codec.stamp(alarm.since_, !(until_over && level.settled_pressed()), bounds.lasting);
    codec.stamp(alarm.clear_, !(!until_over && level.settled_released()), bounds.lasting);
    codec.stamp(alarm.ask_at_, alarm.due_, bounds.episode);
    if (reads(codec)) {
        alarm.repeating_ = false;  // only told
    }
}

// --- the button's press, its decision, its request -----------------------------------------------

template <class Codec>
void Anatomy::walk_press(Codec& codec, Core& core, const Bounds& bounds) {
    const Debounce& line = core.line_.debounce_;
    const bool counts =
        bounds.downs || is(core.state_, {State::holding, State::ready, State::countdown});
    codec.stamp(core.press_begin_, line.settled_pressed() && counts, bounds.pressed);
    walk_index(codec, core.reached_, is(core.state_, {State::holding, State::ready}));
    codec.small(core.said_pressed_, !line.settled_released());
    codec.stamp(core.waiting_pressed_since_,
                core.state_ == State::waiting && line.settled_pressed() && !core.said_pressed_);
    if (reads(codec) && line.settled_released()) {
        core.said_pressed_ = false;
    }
}

template <class Codec>
void Anatomy::walk_request(Codec& codec, Core& core, const Bounds& bounds) {
    Core::Request& request = core.request_;
    const bool asked = is(core.state_, {State::asked, State::unanswered});
    const bool leaving = core.state_ == State::leaving;
    codec.stamp(core.state_until_,
                asked || leaving || is(core.state_, {State::countdown, State::refused}));
    codec.small(core.own_, leaving);
    codec.small(request.open);
    const bool ours = asked || (leaving && core.own_);
    codec.small(request.sent, request.open || ours);
    codec.small(request.accepted, request.open && asked);
    codec.small(request.by_second_route, request.open && asked);
    codec.stamp(request.asked_at, request.open && asked, bounds.asked);
    bool before = request.asked_before >= core.question_;
    codec.small(before, request.sent && ours);
    codec.small(core.dry_, leaving);
    codec.stamp(core.known_going_, leaving, bounds.leaving);
    codec.small(core.holding_back_, leaving);
    codec.stamp(core.question_until_);
    if (reads(codec)) {
        request.number = number;
        core.question_ = number;
        request.asked_before = before ? number : number - 1;
        core.verdict_ = Verdict::cannot_tell;
        core.holding_back_ = leaving && core.holding_back_;
    }
}

// What is kept hangs on the state.
template <class Codec>
// NOLINTNEXTLINE(readability-function-cognitive-complexity)
void Anatomy::walk_decision(Codec& codec, Core& core, const Bounds& bounds) {
    enum class Waits : unsigned char { nothing, ask, publish };
    Core::Decision& decision = core.decision_;
    Waits waits = !core.unconfirmed_                                ? Waits::nothing
                  : std::holds_alternative<Ask>(*core.unconfirmed_) ? Waits::ask
                                                                    : Waits::publish;
    codec.small(waits);
    const bool waiting = waits != Waits::nothing;
    const bool counting = core.state_ == State::countdown;
    const bool of_request = core.request_.open || is(core.state_, {State::leaving, State::refused});
    codec.stamp(decision.at, waiting);
    codec.length(decision.held, waiting || counting, bounds.pressed);
    walk_index(codec, decision.stage, waiting || counting);
    walk_index(codec, decision.alarm, waiting || of_request || counting);
    codec.stamp(decision.released, counting);
    if (!reads(codec)) {
        return;
    }
    if (!(waiting || of_request || counting)) {
        decision.alarm = no_index;
    }
    core.unconfirmed_.reset();
    const bool alarm = decision.alarm != no_index;
    decision.inhibitors =
        alarm ? core.settings_->alarms[decision.alarm].inhibitors : core.settings_->inhibitors;
    decision.action = alarm                 ? core.settings_->alarms[decision.alarm].action
                      : waiting || counting ? core.settings_->stages[decision.stage].action
                                            : Action::power_off;
    if (waits == Waits::ask) {
        core.unconfirmed_ = Ask{decision.at,
                                number,
                                decision.action,
                                decision.inhibitors,
                                decision.stage,
                                decision.alarm,
                                decision.held};
    } else if (waits == Waits::publish) {
        core.unconfirmed_ = Publish{decision.at, decision.stage, no_index, decision.held};
    }
}

// --- messages that wait --------------------------------------------------------------------------

/// At most one, by the alphabet. One branch a kind.
// NOLINTNEXTLINE(readability-function-cognitive-complexity)
void Anatomy::write_messages(Writer& writer, const Core& core) {
    const auto* const waiting = core.messages_.first();
    const Message* const message = waiting == nullptr ? nullptr : &waiting->message;
    writer.small(message == nullptr ? 0 : static_cast<int>(message->index()) + 1);
    Instant at{};
    int what = 0;
    if (message != nullptr) {
        at = waiting->at;
        if (const auto* answer = std::get_if<Answer>(message)) {
            what = 2 * static_cast<int>(answer->kind) +
                   (answer->request == core.request_.number ? 1 : 0);
        } else if (const auto* going = std::get_if<GoingDown>(message)) {
            what = going->active ? 1 : 0;
        } else if (const auto* preparing = std::get_if<Preparing>(message)) {
            what = 2 * static_cast<int>(preparing->told) +
                   (preparing->question == core.question_ ? 1 : 0);
        } else if (const auto* manager = std::get_if<LoginManager>(message)) {
            what = manager->present ? 1 : 0;
        }
    }
    writer.stamp(at, message != nullptr);
    writer.small(what, message != nullptr);
}

void Anatomy::read_messages(Reader& reader, Core& core) {
    core.messages_.clear();
    int kind = 0;
    reader.small(kind);
    Instant at{};
    reader.stamp(at, kind != 0);
    int what = 0;
    reader.small(what, kind != 0);
    const bool flag = what % 2 == 1;
    const std::uint32_t which = flag ? number : number - 1;
    switch (kind) {
    case 0:
        break;
    case 1:
        core.messages_.push({at, Answer{at, static_cast<AnswerKind>(what / 2), which}});
        break;
    case 2:
        core.messages_.push({at, GoingDown{at, flag}});
        break;
    case 3:
        core.messages_.push({at, Preparing{at, which, static_cast<BeingPrepared>(what / 2)}});
        break;
    case 4:
        core.messages_.push({at, LoginManager{at, flag}});
        break;
    case 5:
        core.messages_.push({at, CallOff{at}});
        break;
    default:
        NIGHTLATCH_ENSURE(false);
    }
}

}  // namespace nightlatch::core
