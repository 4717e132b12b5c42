// SPDX-License-Identifier: MIT
#include "support/harness.hpp"

#include "base/duration_text.hpp"
#include "base/ensure.hpp"

#include <algorithm>
#include <sstream>

namespace nightlatch::test {

using namespace core;

Shell::Shell(const Settings& settings)
    : core_(std::make_shared<const Settings>(settings)),
      seen_(settings.alarms.size() + 1, Level::inactive) {}

Shell::Shell(const Settings& settings, Instant start, Level level) : Shell(settings) {
    feed(Resync{start, level, ResyncWhy::start, 0});
    for (LineIndex line = 1; line <= settings.alarms.size(); ++line) {
        feed(Resync{start, Level::inactive, ResyncWhy::start, 0, line});
    }
    wake(start);
    left_.clear();
}

void Shell::feed(const Input& input) {
    if (const auto* sample = std::get_if<Sample>(&input);
        sample != nullptr && sample->line < seen_.size()) {
        seen_[sample->line] = sample->level;
    } else if (const auto* resync = std::get_if<Resync>(&input);
               resync != nullptr && resync->line < seen_.size()) {
        seen_[resync->line] = resync->level;
        closed_ = closed_ && resync->line != button_line;
    }
    core_.feed(input);
    take_notes();
}

void Shell::wake(Instant now) {
    now_ = std::max(now, now_);
    for (LineIndex line = 0; line < seen_.size(); ++line) {
        if (core_.read_due(line) <= now_) {
            core_.feed(LevelRead{now_, level(now_, line), line});
        }
    }
    core_.advance(now_);
    take_actions(now_);
}

void Shell::wait(Instant until) {
    int at_once = 0;
    for (Instant due = core_.next_deadline(); due <= until; due = core_.next_deadline()) {
        wake(due);
        // What the actions led to may be due at once; else a shell would spin.
        at_once = core_.next_deadline() > now_ ? 0 : at_once + 1;
        NIGHTLATCH_ENSURE(at_once < 3);
    }
    now_ = std::max(until, now_);
}

void Shell::sample(Instant stamp, Level level) {
    wait(stamp);
    if (closed_) {
        seen_[button_line] = level;
        return;
    }
    feed(Sample{stamp, level});
    take_actions(stamp);
}

void Shell::take_actions(Instant now) {
    while (const auto action = core_.take_action()) {
        left_.push_back({now, *action});
        obey(*action, now);
    }
    take_notes();
}

void Shell::obey(const ActionOut& action, Instant now) {
    if (const auto* ask = std::get_if<Ask>(&action)) {
        send(*ask, now);
    } else if (const auto* question = std::get_if<AskPreparing>(&action)) {
        if (preparing) {
            feed(Preparing{now, question->question, *preparing});
        }
    } else if (const auto* run = std::get_if<RunResync>(&action)) {
        if (obeys_resync) {
            feed(Resync{now, level(now, run->line), run->why, 0, run->line});
        }
    } else if (const auto* close = std::get_if<CloseLine>(&action)) {
        closed_ = close->line == button_line ? opens : closed_;
    } else if (const auto* open = std::get_if<OpenLine>(&action); open != nullptr && opens) {
        feed(LineOpened{now, false, open->line});
        feed(Resync{now, level(now, open->line), ResyncWhy::reopened, 0, open->line});
    }
}

void Shell::send(const Ask& ask, Instant now) {
    if (!sends || !core_.may_send(ask.number)) {
        return;
    }
    feed(Answer{now, AnswerKind::sent, ask.number});
    if (answers) {
        feed(Answer{now, *answers, ask.number});
    }
}

void Shell::take_notes() {
    while (const auto note = core_.take_note()) {
        notes_.push_back(*note);
    }
}

std::vector<Left> requests_of(const std::vector<Left>& left) {
    std::vector<Left> requests;
    std::copy_if(left.begin(), left.end(), std::back_inserter(requests), [](const Left& each) {
        return std::holds_alternative<Ask>(each.action) ||
               std::holds_alternative<Publish>(each.action);
    });
    return requests;
}

std::size_t asks_in(const std::vector<Left>& left) {
    return static_cast<std::size_t>(std::count_if(left.begin(), left.end(), [](const Left& each) {
        return std::holds_alternative<Ask>(each.action);
    }));
}

std::string text_of(Instant instant) {
    return instant == never ? "never" : to_text(instant.time_since_epoch());
}

namespace {

struct ActionText {
    std::string operator()(const Ask& ask) const {
        std::ostringstream out;
        out << "Ask{" << ask.number << ", decided " << text_of(ask.at) << ", held "
            << to_text(ask.held);
        if (ask.stage != no_index) {
            out << ", stage " << ask.stage;
        }
        if (ask.alarm != no_index) {
            out << ", alarm " << ask.alarm;
        }
        return out.str() + "}";
    }

    std::string operator()(const Withdraw& withdraw) const {
        return "Withdraw{" + std::to_string(withdraw.number) + "}";
    }

    std::string operator()(const AskPreparing& ask) const {
        return "AskPreparing{" + std::to_string(ask.question) + "}";
    }

    std::string operator()(const CalledOff& called) const {
        return called.done ? "CalledOff{done}" : "CalledOff{nothing}";
    }

    std::string operator()(const Publish& publish) const {
        std::ostringstream out;
        out << "Publish{decided " << text_of(publish.at) << ", held " << to_text(publish.held)
            << ", stage " << publish.stage << "}";
        return out.str();
    }

    std::string operator()(const OpenLine&) const { return "OpenLine"; }

    std::string operator()(const CloseLine&) const { return "CloseLine"; }

    std::string operator()(const RunResync&) const { return "RunResync"; }

    std::string operator()(const LookAtPostHalt&) const { return "LookAtPostHalt"; }

    std::string operator()(const KeepAlarm& keep) const {
        return "keep alarm " + std::to_string(keep.alarm) + (keep.ignored ? " ignored" : "");
    }

    std::string operator()(const DelayLock& lock) const {
        return lock.hold ? "DelayLock{hold}" : "DelayLock{let go}";
    }
};

}  // namespace

std::string text_of(const ActionOut& action) {
    return std::visit(ActionText{}, action);
}

std::string text_of(const std::vector<Left>& left) {
    std::string text;
    for (const Left& each : left) {
        text += "  at " + text_of(each.at) + " " + text_of(each.action) + "\n";
    }
    return text;
}

std::string text_of(const std::vector<Note>& notes) {
    std::string text;
    for (const Note& note : notes) {
        text += "  at " + text_of(note.at) + " " + std::string(core::text_of(note.from)) + " -> " +
                std::string(core::text_of(note.to)) + ": " + core::text_of(note.why) + "\n";
    }
    return text;
}

}  // namespace nightlatch::test
