// SPDX-License-Identifier: MIT
#pragma once

#include "bounds.hpp"
#include "core/action.hpp"
#include "core/input.hpp"
#include "line_view.hpp"

#include <vector>

namespace nightlatch::proof {

/// Has the button been held and let go, and how long? Knows edges, never the core.
class PressMonitor {
public:
    explicit PressMonitor(const core::Settings& settings) : settings_(&settings), line_(settings) {}

    void edge(const core::Sample& sample, Instant spends);

    void found(Instant at, Level level) {
        line_.found(at, level, false);
        forget();
    }

    void lose() {
        line_.lose();
        forget();
    }

    /// What is down now has no further effect.
    void spend(Instant until);

    /// What was let go has none.
    void call_off() { reached_ = 0; }

    /// `spends`: until when what is accepted has no effect.
    void run_until(Instant at, Instant spends = Instant::min());
    void drop_old(Instant now, const Bounds& bounds);

    /// May a press ask for this stage, decided at `at`, having been held so long? Uses it up.
    const char* ask(Instant at, std::uint32_t stage, Duration held, Duration grace);

    template <class Codec>
    void walk(Codec& codec, const Bounds& bounds) {
        line_.walk(codec, bounds.held, bounds.calling_off, bounds);
        codec.small(eligible_);
        codec.small(at_episode_);
        codec.small(reached_);
        codec.stamp(let_go_, reached_ != 0 && settings_->grace > Duration::zero());
        codec.stamp(settled_, reached_ != 0);
    }

private:
    void forget() {
        eligible_ = false;
        at_episode_ = 0;
        reached_ = 0;
    }

    void use_up();
    [[nodiscard]] std::uint32_t stages_in(Duration held) const;
    const char* ask_at_threshold(Instant at, std::uint32_t stage);

    const core::Settings* settings_;
    LineView line_;
    bool eligible_ = false;         ///< seen released for the release interval
    std::uint32_t at_episode_ = 0;  ///< how many stages had been reached when the episode began
    std::uint32_t reached_ = 0;     ///< and when it was let go
    Instant let_go_{};
    Instant settled_{};
};

/// Has an alarm's level lasted?
class AlarmMonitor {
public:
    AlarmMonitor(const core::Settings& settings, std::size_t index)
        : alarm_(&settings.alarms[index]), line_(settings) {}

    void edge(const core::Sample& sample);
    void found(Instant at, Level level);

    void lose() {
        line_.lose();
        clear_ = never;
    }

    void run_until(Instant at);
    const char* ask(Instant at);
    /// Its request has failed by `at`.
    void failed(Instant at);

    void put_off() { asked_ = false; }

    template <class Codec>
    void walk(Codec& codec, const Bounds& bounds) {
        line_.walk(codec, bounds.lasting, bounds.overtaken, bounds);
        codec.small(looked_);
        codec.small(ignored_);
        codec.small(due_);
        codec.small(asked_, due_);
        codec.stamp(clear_, line_.settled_released(), bounds.lasting);
        codec.stamp(failed_,
                    due_ && asked_ && alarm_->repeat,
                    alarm_->repeat ? *alarm_->repeat + bounds.recent : Duration{});
    }

private:
    const core::Alarm* alarm_;
    LineView line_;
    bool looked_ = false;
    bool ignored_ = false;
    bool due_ = false;
    bool asked_ = false;
    Instant clear_ = never;
    Instant failed_ = never;
};

/// Safety: sees inputs and actions only. What it says is wrong is so; it errs towards silence by
/// no more than is said here:
///   - an answer that waits for a contradicting read counts from when it was fed.
///   - that a shutdown is being prepared counts only where the answer surely was in time.
///   - while an answer decides which of two begins of a press counts, the earlier one does.
class Monitor {
public:
    Monitor(const core::Settings& settings, const Bounds& bounds);

    /// A message, before the core has it.
    void hear(const core::Input& input, Instant now);
    /// Of the lines, when what was due before it has passed.
    void hear_of_line(const core::Input& input);
    /// What is wrong with it; null when nothing is.
    const char* see(const core::ActionOut& action, Instant now);
    /// What should have come by now and has not; null when nothing is missing.
    const char* tick(Instant now);

    /// The latest request and question have these.
    void count_from(std::uint32_t request, std::uint32_t question) {
        number_ = request;
        question_ = question;
    }

    template <class Codec>
    void walk(Codec& codec) {
        const core::Limits& limits = settings_->limits;
        press_.walk(codec, *bounds_);
        for (AlarmMonitor& alarm : alarms_) {
            alarm.walk(codec, *bounds_);
        }
        codec.small(open_);
        codec.small(sent_, open_);
        codec.small(route_, open_);
        codec.small(of_alarm_);
        codec.stamp(asked_at_, open_ && !route_, limits.answer_patience + bounds_->recent);
        codec.stamp(route_at_, open_ && route_, limits.route_patience + bounds_->recent);
        codec.small(going_);
        codec.stamp(going_at_, going_, limits.longest_shutdown + bounds_->recent);
        codec.stamp(question_at_);
        codec.small(question_after_, open_ && sent_ && question_at_ != never);
        codec.stamp(manager_back_);
    }

private:
    void over(Instant now, bool failed, Instant sure);
    void going_down(Instant now);
    void not_going_down(Instant now, bool after);
    [[nodiscard]] Instant spends_until() const;
    const char* ask(const core::Ask& ask);
    void lose(core::LineIndex line);

    const core::Settings* settings_;
    const Bounds* bounds_;
    PressMonitor press_;
    std::vector<AlarmMonitor> alarms_;
    bool open_ = false;
    bool sent_ = false;
    bool route_ = false;
    std::uint8_t of_alarm_ = 0;  ///< one more than its index
    Instant asked_at_{};
    Instant route_at_{};
    bool going_ = false;
    Instant going_at_{};
    Instant question_at_ = never;
    bool question_after_ = false;   ///< it was put after the request was sent
    Instant manager_back_ = never;  ///< its return has led to no question yet
    std::uint32_t number_ = 0;      ///< of the request; each state counts from the same
    std::uint32_t question_ = 0;    ///< of the question
};

}  // namespace nightlatch::proof
