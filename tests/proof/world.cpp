// SPDX-License-Identifier: MIT
#include "world.hpp"

#include "told.hpp"

#include <algorithm>

namespace nightlatch::proof {

using namespace core;

namespace {

/// Whenever that is: behaviour does not depend on it, and each state is read at this instant.
constexpr Instant origin{Duration(1'000'000)};

Level level_of(std::uint8_t argument) {
    return argument % 2 == 1 ? Level::active : Level::inactive;
}

Level other(Level level) {
    return level == Level::active ? Level::inactive : Level::active;
}

}  // namespace

World::World(std::shared_ptr<const Settings> settings,
             const Lateness& lateness,
             const Alphabet& alphabet)
    : settings_(std::move(settings)), lateness_(lateness), alphabet_(alphabet),
      bounds_(*settings_, lateness, alphabet.going && settings_->act_on == ActOn::release),
      core_(settings_), monitor_(*settings_, bounds_), now_(origin),
      lines_(settings_->alarms.size() + 1) {
    for (LineWorld& line : lines_) {
        owe(line, Phase::owes_opening);
    }
    drain();
}

// --- bytes ---------------------------------------------------------------------------------------

template <class Codec>
void World::walk(Codec& codec) {
    for (LineWorld& line : lines_) {
        codec.small(line.phase);
        codec.small(line.level, line.phase == Phase::open);
        codec.stamp(line.moved,
                    line.phase == Phase::open && alphabet_.stable > Duration::zero(),
                    alphabet_.stable);
        codec.stamp(line.owed_since,
                    line.phase == Phase::owes_resync || line.phase == Phase::owes_opening);
    }
    codec.small(call_);
    codec.small(going_, alphabet_.in_turn);
    monitor_.walk(codec);
}

World::Written World::write(std::uint8_t* out) {
    Writer writer(out, now_);
    Anatomy::write(writer, core_, bounds_);
    walk(writer);
    return {static_cast<std::size_t>(writer.end() - out), writer.shortened()};
}

void World::read(const std::uint8_t* in, Junk junk) {
    now_ = origin;
    violation_ = nullptr;
    deeds_.clear();
    Reader reader(in, now_, junk);
    Anatomy::read(reader, core_, bounds_);
    walk(reader);
    number_ = Anatomy::latest(core_);
    question_ = Anatomy::number;
    monitor_.count_from(number_, question_);
}

// --- the shell -----------------------------------------------------------------------------------

void World::owe(LineWorld& line, Phase phase) {
    line.phase = phase;
    line.owed_since = now_;
}

void World::feed(const Input& input) {
    if (log != nullptr) {
        log->push_back(told_feed(input, origin));
    }
    monitor_.hear(input, now_);
    core_.feed(input);
    const std::uint32_t before = number_;
    drain();
    if (number_ != before && violation_ == nullptr) {
        violation_ = "a request leaves before the level was read";
    }
    monitor_.hear_of_line(input);  // what was due before it came first
}

void World::advance() {
    if (log != nullptr) {
        log->push_back(told_advance(now_, origin));
    }
    core_.advance(now_);
}

void World::drain() {
    while (const auto action = core_.take_action()) {
        see(*action);
    }
    while (core_.take_note()) {
    }
}

// One branch a kind of action. NOLINTNEXTLINE(readability-function-cognitive-complexity)
void World::see(const ActionOut& action) {
    if (log != nullptr) {
        log->push_back("    // " + told_action(action, origin));
    }
    write_deed(action, now_, number_, question_, deeds_);
    if (const char* wrong = monitor_.see(action, now_); wrong != nullptr && violation_ == nullptr) {
        violation_ = wrong;
    }
    if (const auto* ask = std::get_if<Ask>(&action)) {
        number_ = ask->number;
        call_ = Call::pending;
        asks_ += ask->alarm == asker_ ? 1 : 0;
    } else if (std::holds_alternative<Withdraw>(action)) {
        call_ = call_ == Call::pending ? Call::none : call_;
    } else if (const auto* question = std::get_if<AskPreparing>(&action)) {
        question_ = question->question;
    } else if (const auto* open = std::get_if<OpenLine>(&action)) {
        if (lines_[open->line].phase != Phase::open) {
            owe(lines_[open->line], Phase::owes_opening);
        }
    } else if (const auto* close = std::get_if<CloseLine>(&action)) {
        lines_[close->line].phase = Phase::closed;
    } else if (const auto* resync = std::get_if<RunResync>(&action)) {
        if (lines_[resync->line].phase == Phase::open) {
            owe(lines_[resync->line], Phase::owes_resync);
        }
    } else if (std::holds_alternative<Publish>(action)) {
        ++asks_;
    }
}

/// While the button's line is to be read anew the core is not advanced.
// NOLINTNEXTLINE(readability-function-cognitive-complexity): as the shell does it, in one place
void World::wake(const Move& move) {
    for (int round = 0; round < 8; ++round) {
        for (std::size_t i = 0; i < lines_.size(); ++i) {
            const auto line = static_cast<LineIndex>(i);
            if (lines_[i].phase == Phase::open && core_.read_due(line) <= now_) {
                const bool falsely = move.reads_falsely && move.line == i;
                feed(LevelRead{now_, falsely ? other(lines_[i].level) : lines_[i].level, line});
                drain();
            }
        }
        if (lines_[0].phase == Phase::owes_resync) {
            return;
        }
        advance();
        drain();
        if (core_.next_deadline() > now_) {
            return;
        }
    }
}

void World::message(const Move& move, const Message& message) {
    wake(move);
    std::visit([this](const auto& given) { feed(given); }, message);
    drain();
    wake(move);
}

// --- what may come -------------------------------------------------------------------------------

// One condition a kind of move. NOLINTNEXTLINE(readability-function-cognitive-complexity)
bool World::can(const Move& move) const {
    switch (move.kind) {
    case Kind::tick:
        if (alphabet_.prompt && call_ == Call::pending) {
            return false;
        }
        for (const LineWorld& line : lines_) {
            const bool owes = line.phase == Phase::owes_resync || line.phase == Phase::owes_opening;
            if (owes && now_ - line.owed_since >= lateness_.resync) {
                return false;
            }
        }
        return lines_[0].phase == Phase::owes_resync ||
               core_.next_deadline() > now_ - lateness_.wake_up;
    case Kind::wake:
        return !move.reads_falsely ||
               (lines_[move.line].phase == Phase::open && core_.read_due(move.line) <= now_);
    case Kind::edge:
    case Kind::resync:
    case Kind::vanish:
    case Kind::opened:
    case Kind::may_be_back:
    case Kind::new_settings:
        return can_of_line(move);
    case Kind::send:
    case Kind::would_do:
        return call_ == Call::pending && Anatomy::waiting(core_) == 0;
    case Kind::accept:
    case Kind::take_up:
        return call_ == Call::sent && Anatomy::waiting(core_) == 0;
    case Kind::refuse:
        return (call_ == Call::sent || call_ == Call::pending) && Anatomy::waiting(core_) == 0;
    default:
        if (alphabet_.in_turn && ((move.kind == Kind::going_down && going_) ||
                                  (move.kind == Kind::not_going_down && !going_))) {
            return false;
        }
        return Anatomy::waiting(core_) == 0 &&
               (!move.reads_falsely ||
                (lines_[move.line].phase == Phase::open && core_.read_due(move.line) <= now_));
    }
}

bool World::can_of_line(const Move& move) const {
    const LineWorld& line = lines_[move.line];
    switch (move.kind) {
    case Kind::edge:
        return line.phase == Phase::open &&
               (alphabet_.stable == Duration::zero() || now_ - line.moved >= alphabet_.stable) &&
               (alphabet_.equal_edges || level_of(move.argument) != line.level);
    case Kind::resync:
        return (line.phase == Phase::open && alphabet_.resyncs) || line.phase == Phase::owes_resync;
    case Kind::vanish:
        return line.phase != Phase::closed;
    case Kind::opened:
        return line.phase == Phase::owes_opening;
    case Kind::may_be_back:
        return line.phase == Phase::closed;
    default:
        return true;
    }
}

void World::make(const Move& move) {
    switch (move.kind) {
    case Kind::tick:
        now_ += one_tick;
        violation_ = monitor_.tick(now_);
        return;
    case Kind::wake:
        wake(move);
        return;
    case Kind::edge:
    case Kind::resync:
    case Kind::vanish:
    case Kind::opened:
    case Kind::may_be_back:
    case Kind::new_settings:
        make_of_line(move);
        return;
    default:
        make_message(move);
        return;
    }
}

void World::make_of_line(const Move& move) {
    LineWorld& line = lines_[move.line];
    const Level level = level_of(move.argument);
    switch (move.kind) {
    case Kind::edge:
        line.level = level;
        line.moved = now_;
        feed(Sample{now_ - (move.argument >= 2 ? one_tick : Duration::zero()), level, move.line});
        break;
    case Kind::opened:
        feed(LineOpened{now_, false, move.line});
        [[fallthrough]];
    case Kind::resync:
        line.phase = Phase::open;
        line.level = level;
        line.moved = now_;
        feed(Resync{now_, level, ResyncWhy::gap, 0, move.line});
        break;
    case Kind::vanish:
        line.phase = Phase::closed;
        feed(LineGone{now_, move.line});
        break;
    case Kind::may_be_back:
        feed(LineMayBeBack{now_});
        break;
    default:
        for (LineWorld& each : lines_) {
            if (each.phase == Phase::open) {
                owe(each, Phase::owes_resync);
            } else if (each.phase == Phase::closed) {
                owe(each, Phase::owes_opening);
            }
        }
        feed(NewSettings{now_, settings_});
        break;
    }
    drain();
}

void World::make_message(const Move& move) {
    const auto answer = [&](AnswerKind kind, std::uint32_t number) {
        message(move, Answer{now_, kind, number});
    };
    switch (move.kind) {
    case Kind::send:
        wake(move);
        if (call_ == Call::pending && core_.may_send(number_)) {
            call_ = Call::sent;
            answer(AnswerKind::sent, number_);
        }
        return;
    case Kind::would_do:
        call_ = Call::answered;
        return answer(AnswerKind::would_do, number_);
    case Kind::accept:
        call_ = Call::answered;
        return answer(AnswerKind::accepted, number_);
    case Kind::take_up:
        call_ = Call::answered;
        return answer(AnswerKind::taken_up, number_);
    case Kind::refuse:
        call_ = Call::answered;
        return answer(AnswerKind::refused, number_);
    case Kind::accept_former:
        return answer(AnswerKind::accepted, number_ - 1);
    case Kind::refuse_former:
        return answer(AnswerKind::refused, number_ - 1);
    case Kind::going_down:
        going_ = true;
        return message(move, GoingDown{now_, true});
    case Kind::not_going_down:
        going_ = false;
        return message(move, GoingDown{now_, false});
    case Kind::preparing_yes:
        return message(move, Preparing{now_, question_, BeingPrepared::yes});
    case Kind::preparing_no:
        return message(move, Preparing{now_, question_, BeingPrepared::no});
    case Kind::preparing_unknown:
        return message(move, Preparing{now_, question_, BeingPrepared::cannot_tell});
    case Kind::manager_gone:
        return message(move, LoginManager{now_, false});
    case Kind::manager_back:
        return message(move, LoginManager{now_, true});
    default:
        return message(move, CallOff{now_});
    }
}

}  // namespace nightlatch::proof
