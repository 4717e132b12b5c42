// SPDX-License-Identifier: MIT
#include "monitor.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::proof {

using namespace core;

// --- a press -------------------------------------------------------------------------------------

std::uint32_t PressMonitor::stages_in(Duration held) const {
    std::uint32_t reached = 0;
    const bool threshold = settings_->act_on == ActOn::threshold;
    const Duration guard = threshold ? settings_->threshold_guard : Duration::zero();
    for (const Stage& stage : settings_->stages) {
        reached += held >= stage.hold + guard ? 1 : 0;
    }
    return reached;
}

void PressMonitor::edge(const Sample& sample, Instant spends) {
    run_until(sample.stamp, spends);
    const bool pressed = line_.known() && line_.level() == Level::active;
    const bool was_in_episode = line_.in_episode();
    const std::uint32_t reached = pressed ? stages_in(line_.lasted(sample.stamp)) : 0;
    if (!line_.edge(sample.stamp, sample.level, eligible_)) {
        forget();
    } else if (!was_in_episode && line_.in_episode()) {
        at_episode_ = reached;
    }
}

void PressMonitor::run_until(Instant at, Instant spends) {
    const Instant episode = line_.episode();
    const bool was_in_episode = line_.in_episode();
    const LineView::Settles settles = line_.run_until(at);
    if (settles.released) {
        eligible_ = true;
        line_.forget_begins();
        if (was_in_episode && at_episode_ != 0 && settles.at >= spends) {
            // While one counts down the core may have had no second; the first is the sooner.
            settled_ = reached_ != 0 && settings_->grace > Duration::zero() ? settled_ : settles.at;
            reached_ = std::max(reached_, at_episode_);
            let_go_ = episode;
        }
        at_episode_ = 0;
    } else if (settles.pressed) {
        at_episode_ = 0;
        if (settles.at < spends) {
            use_up();
        }
    }
    const bool down = line_.known() && line_.level() == Level::active;
    const Duration lasts = at - line_.stable_since();
    if (reached_ != 0 && settings_->grace > Duration::zero() && down &&
        lasts >= std::max(settings_->limits.call_off_hold, settings_->press_interval) &&
        at >= let_go_ + settings_->limits.call_off_pause) {
        reached_ = 0;
    }
}

void PressMonitor::spend(Instant until) {
    run_until(until, until + proof::one_tick);
    if (line_.settled_pressed() && line_.settled_at() <= until) {
        use_up();
        at_episode_ = 0;
    }
}

void PressMonitor::use_up() {
    line_.forget_begins();
    eligible_ = false;
}

void PressMonitor::drop_old(Instant now, const Bounds& bounds) {
    const bool counts_down = settings_->grace > Duration::zero();
    const Instant last =
        counts_down ? let_go_ + settings_->grace + 2 * bounds.episode : settled_ + bounds.recent;
    if (reached_ != 0 && now > last) {
        reached_ = 0;
    }
}

const char* PressMonitor::ask(Instant at, std::uint32_t stage, Duration held, Duration grace) {
    if (settings_->act_on == ActOn::threshold) {
        return ask_at_threshold(at, stage);
    }
    run_until(at);
    if (stage >= reached_ || held < settings_->stages[stage].hold) {
        return "no full press of its own";
    }
    if (grace == Duration::zero() ? at != settled_ : at < settled_ + grace) {
        return "not when its press was let go";
    }
    const bool down = line_.settled_pressed() && line_.settled_at() <= at;
    if (grace > Duration::zero() && (line_.in_episode() ? line_.episode() < at : down)) {
        return "a countdown ends while it may still be called off";
    }
    reached_ = 0;
    return nullptr;
}

const char* PressMonitor::ask_at_threshold(Instant at, std::uint32_t stage) {
    run_until(at);
    const bool pressed = line_.known() && line_.level() == Level::active && !line_.in_episode();
    const bool until_then = line_.known() && line_.in_episode() && line_.episode() >= at;
    const std::uint32_t reached = pressed      ? stages_in(line_.lasted(at))
                                  : until_then ? at_episode_
                                               : 0;
    if (stage >= reached) {
        return "no full press of its own";
    }
    at_episode_ = 0;
    use_up();
    return nullptr;
}

// --- an alarm ------------------------------------------------------------------------------------

void AlarmMonitor::edge(const Sample& sample) {
    run_until(sample.stamp);
    line_.edge(sample.stamp, sample.level, true);
}

void AlarmMonitor::found(Instant at, Level level) {
    line_.found(at, level, true);
    clear_ = never;
}

// One deadline after the other. NOLINTNEXTLINE(readability-function-cognitive-complexity)
void AlarmMonitor::run_until(Instant at) {
    const bool known = line_.settled_pressed() || line_.settled_released();
    const bool was_released = line_.settled_released();
    const Instant first = known && line_.in_episode() ? line_.episode() : line_.stable_since();
    const LineView::Settles settles = line_.run_until(at);
    if (settles.at != never) {
        if (!looked_) {
            looked_ = true;
            ignored_ = settles.pressed && alarm_->at_start == AtStart::ignore;
        }
        if (settles.released && !was_released) {
            clear_ = first;
        }
        if (settles.pressed) {
            clear_ = never;
        }
        if (settles.released && !due_) {
            line_.forget_begins();
        }
    }
    const bool calm = line_.settled_released() && !line_.in_episode();
    if (calm && clear_ != never && at >= clear_ + alarm_->lasting) {
        due_ = false;
        ignored_ = false;
        asked_ = false;
        line_.forget_begins();
    }
    const bool down = line_.known() && line_.level() == Level::active && !line_.in_episode();
    if (down && !ignored_ && line_.lasted(at) >= alarm_->lasting) {
        asked_ = asked_ && due_;
        due_ = true;
    }
}

const char* AlarmMonitor::ask(Instant at) {
    run_until(at);
    const bool down = line_.known() && line_.level() == Level::active && !line_.in_episode();
    if (!due_ || ignored_ || !down) {
        return "an alarm that is not due";
    }
    if (asked_ && (!alarm_->repeat || failed_ == never || at < failed_ + *alarm_->repeat)) {
        return "an alarm asks again too soon";
    }
    asked_ = true;
    failed_ = never;
    return nullptr;
}

void AlarmMonitor::failed(Instant at) {
    failed_ = at;
}

// --- requests ------------------------------------------------------------------------------------

Monitor::Monitor(const Settings& settings, const Bounds& bounds)
    : settings_(&settings), bounds_(&bounds), press_(settings) {
    for (std::size_t i = 0; i < settings.alarms.size(); ++i) {
        alarms_.emplace_back(settings, i);
    }
}

const char* Monitor::tick(Instant now) {
    // An edge of the tick before may still come.
    const Instant sure = now - proof::one_tick;
    press_.run_until(sure, spends_until());
    press_.drop_old(now, *bounds_);
    for (AlarmMonitor& alarm : alarms_) {
        alarm.run_until(sure);
    }
    if ((open_ || going_) && sure >= spends_until()) {
        open_ = false;
        going_ = false;
    }
    if (question_at_ != never && now >= question_at_ + settings_->limits.preparing_patience) {
        question_at_ = never;
    }
    const bool ignored = manager_back_ != never && now > manager_back_ + bounds_->recent;
    return ignored ? "the login manager is back, and is not asked" : nullptr;
}

/// As long as a request is outstanding or the machine goes down; at this instant no more.
Instant Monitor::spends_until() const {
    const Limits& limits = settings_->limits;
    return going_   ? going_at_ + limits.longest_shutdown
           : !open_ ? Instant::min()
           : route_ ? route_at_ + limits.route_patience
                    : asked_at_ + limits.answer_patience;
}

const char* Monitor::ask(const Ask& ask) {
    if (ask.at < spends_until()) {
        return going_ ? "a request while the machine goes down"
                      : "a second request while one is outstanding";
    }
    open_ = true;
    sent_ = false;
    route_ = false;
    going_ = false;
    of_alarm_ = ask.alarm == no_index ? 0 : static_cast<std::uint8_t>(ask.alarm + 1);
    asked_at_ = ask.at;
    number_ = ask.number;
    question_after_ = false;
    if (ask.alarm != no_index) {
        press_.call_off();
        return alarms_[ask.alarm].ask(ask.at);
    }
    return press_.ask(ask.at, ask.stage, ask.held, settings_->grace);
}

const char* Monitor::see(const ActionOut& action, Instant now) {
    if (const auto* asked = std::get_if<Ask>(&action)) {
        return ask(*asked);
    }
    if (const auto* publish = std::get_if<Publish>(&action)) {
        return publish->alarm != no_index
                   ? alarms_[publish->alarm].ask(publish->at)
                   : press_.ask(publish->at, publish->stage, publish->held, {});
    }
    if (const auto* withdrawn = std::get_if<Withdraw>(&action);
        withdrawn && withdrawn->number == number_) {
        if (sent_) {
            return "withdrawn after it was sent";
        }
        over(now, true, now - bounds_->late);
    } else if (const auto* question = std::get_if<AskPreparing>(&action)) {
        question_ = question->question;
        question_at_ = now;
        manager_back_ = never;
        question_after_ = open_ && sent_;
    } else if (const auto* off = std::get_if<CalledOff>(&action); off && off->done) {
        press_.call_off();
    } else if (const auto* keep = std::get_if<KeepAlarm>(&action)) {
        alarms_[keep->alarm].run_until(now);
    } else if (const auto* resync = std::get_if<RunResync>(&action)) {
        lose(resync->line);
    } else if (const auto* close = std::get_if<CloseLine>(&action)) {
        lose(close->line);
    }
    return nullptr;
}

void Monitor::over(Instant now, bool failed, Instant sure) {
    if (!open_ && !going_) {
        return;
    }
    sure = std::min(sure, spends_until() - proof::one_tick);  // its deadline may have passed before
    if (open_ && failed && of_alarm_ != 0) {
        alarms_[of_alarm_ - 1U].failed(now);
    }
    open_ = false;
    press_.call_off();
    press_.spend(sure);
}

void Monitor::going_down(Instant now) {
    going_ = true;
    going_at_ = now;
    press_.call_off();
}

void Monitor::not_going_down(Instant now, bool after) {
    if (going_ || (open_ && sent_ && after && now < spends_until())) {
        over(now, true, now);
        going_ = false;
    }
}

// One branch a kind of input. NOLINTNEXTLINE(readability-function-cognitive-complexity)
void Monitor::hear(const Input& input, Instant now) {
    if (const auto* answer = std::get_if<Answer>(&input)) {
        if (answer->request != number_ || !open_ || now >= spends_until()) {
            return;
        }
        if (answer->kind == AnswerKind::sent) {
            sent_ = true;
            question_after_ = false;
        }
        if (answer->kind == AnswerKind::taken_up) {
            route_ = true;
            route_at_ = now;
        }
        if (answer->kind == AnswerKind::refused || answer->kind == AnswerKind::would_do) {
            over(now, true, now);
        }
    } else if (const auto* going = std::get_if<GoingDown>(&input)) {
        going->active ? going_down(now) : not_going_down(now, true);
    } else if (const auto* manager = std::get_if<LoginManager>(&input)) {
        manager_back_ = manager->present ? std::min(manager_back_, now) : manager_back_;
    } else if (const auto* preparing = std::get_if<Preparing>(&input)) {
        const Instant asked = question_at_;
        if (preparing->question != question_ || std::exchange(question_at_, never) == never) {
            return;  // nobody asked, or no longer
        }
        if (preparing->told == BeingPrepared::yes) {
            // It may have been put by a wake-up that was late.
            if (now + bounds_->late < asked + settings_->limits.preparing_patience) {
                going_down(now);
            }
        } else if (preparing->told == BeingPrepared::no) {
            not_going_down(now, question_after_);
        }
    }
}

void Monitor::hear_of_line(const Input& input) {
    if (const auto* sample = std::get_if<Sample>(&input)) {
        sample->line == button_line ? press_.edge(*sample, spends_until())
                                    : alarms_[sample->line - 1].edge(*sample);
    } else if (const auto* resync = std::get_if<Resync>(&input)) {
        resync->line == button_line ? press_.found(resync->at, resync->level)
                                    : alarms_[resync->line - 1].found(resync->at, resync->level);
    } else if (const auto* gone = std::get_if<LineGone>(&input)) {
        lose(gone->line);
    } else if (std::holds_alternative<NewSettings>(input)) {
        press_.lose();
        for (AlarmMonitor& alarm : alarms_) {
            alarm.lose();
        }
    }
}

void Monitor::lose(LineIndex line) {
    line == button_line ? press_.lose() : alarms_[line - 1].lose();
}

}  // namespace nightlatch::proof
