// SPDX-License-Identifier: MIT
#include "support/harness.hpp"

#include "base/duration_text.hpp"
#include "base/ensure.hpp"

#include <algorithm>
#include <sstream>

namespace nightlatch::test {

using namespace core;

Shell::Shell(const Settings& settings) : core_(std::make_shared<const Settings>(settings)) {}

Shell::Shell(const Settings& settings, Instant start, Level level) : Shell(settings) {
    feed(Resync{start, level, ResyncWhy::start, 0});
    wake(start);
    left_.clear();
}

void Shell::feed(const Input& input) {
    if (const auto* sample = std::get_if<Sample>(&input);
        sample != nullptr && sample->line == button_line) {
        seen_ = sample->level;
    } else if (const auto* resync = std::get_if<Resync>(&input);
               resync != nullptr && resync->line == button_line) {
        seen_ = resync->level;
    }
    core_.feed(input);
    take_notes();
}

void Shell::wake(Instant now) {
    now_ = std::max(now, now_);
    if (core_.next_deadline() <= now_) {
        core_.feed(LevelRead{now_, true_level ? true_level(now_) : seen_});
    }
    core_.advance(now_);
    take_actions(now_);
}

void Shell::wait(Instant until) {
    for (Instant due = core_.next_deadline(); due <= until; due = core_.next_deadline()) {
        wake(due);
        NIGHTLATCH_ENSURE(core_.next_deadline() > now_);  // else a shell would spin
    }
    now_ = std::max(until, now_);
}

void Shell::sample(Instant stamp, Level level) {
    wait(stamp);
    feed(Sample{stamp, level});
    take_actions(stamp);
}

void Shell::take_actions(Instant now) {
    while (const auto action = core_.take_action()) {
        left_.push_back({now, *action});
        if (std::holds_alternative<Ask>(*action) && answers) {
            core_.feed(Answer{now, *answers});
        } else if (const auto* run = std::get_if<RunResync>(&*action);
                   run != nullptr && obeys_resync) {
            feed(Resync{now, true_level ? true_level(now) : seen_, run->why, 0});
        }
    }
    take_notes();
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
        out << "Ask{decided " << text_of(ask.at) << ", held " << to_text(ask.held);
        if (ask.stage != no_index) {
            out << ", stage " << ask.stage;
        }
        if (ask.alarm != no_index) {
            out << ", alarm " << ask.alarm;
        }
        return out.str() + "}";
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
