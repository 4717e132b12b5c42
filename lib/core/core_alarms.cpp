// SPDX-License-Identifier: MIT
// The alarms: their lines' inputs, and when one asks. No press, no trouble of the button's line and
// no CallOff stops one, and nothing here changes a state of the button but the asking.
#include "core/core.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::core {

// --- which are there -----------------------------------------------------------------------------

/// Those that are known by their name have been looked at in this boot.
void Core::set_alarms(const std::vector<KnownAlarm>& known) {
    alarms_ = std::vector<AlarmWatch>(settings_->alarms.size());
    for (std::uint32_t i = 0; i < alarms_.size(); ++i) {
        alarms_[i].set(*settings_, i);
        const auto same = std::find_if(known.begin(), known.end(), [&](const KnownAlarm& each) {
            return each.name == settings_->alarms[i].name;
        });
        if (same != known.end()) {
            alarms_[i].remember(same->ignored);
        }
        actions_.push(OpenLine{line_of_alarm(i)});
    }
}

/// One that keeps its name goes on; the shell follows with each line's Resync, or opens it anew.
void Core::reload_alarms(const Settings& before) {
    std::vector<AlarmWatch> old = std::exchange(alarms_, {});
    std::uint32_t asking = no_index - 1;  // none of those that are here now
    for (std::uint32_t i = 0; i < settings_->alarms.size(); ++i) {
        const auto same =
            std::find_if(before.alarms.begin(), before.alarms.end(), [&](const Alarm& each) {
                return each.name == settings_->alarms[i].name;
            });
        const auto place = static_cast<std::size_t>(same - before.alarms.begin());
        alarms_.push_back(place < old.size() ? old[place] : AlarmWatch());
        alarms_.back().set(*settings_, i);
        alarms_.back().lose_track();
        alarms_.back().line().lose_track();
        if (decision_.alarm == place && place < old.size()) {
            asking = i;
        }
    }
    if (decision_.alarm != no_index) {
        decision_.alarm = asking;
    }
}

std::uint32_t Core::index_of(const AlarmWatch& alarm) const noexcept {
    return static_cast<std::uint32_t>(&alarm - alarms_.data());
}

void Core::note_alarm(const AlarmWatch& alarm, Instant at, Why why, std::uint32_t index) {
    notes_.push({at, why, state_, state_, {}, index, line_of_alarm(index_of(alarm))});
}

// --- what comes in -------------------------------------------------------------------------------

/// Only what is of this line has been drained up to its stamp.
void Core::take_alarm(AlarmWatch& alarm, const Sample& sample) {
    switch (alarm.line().judge(sample)) {
    case EdgeIs::unwanted:
        note_alarm(alarm, sample.stamp, Why::ignored);
        return;
    case EdgeIs::out_of_order:
        note_alarm(alarm, sample.stamp, Why::out_of_order);
        resync_alarm(alarm, sample.stamp, ResyncWhy::gap);
        return;
    case EdgeIs::overtaken:
    case EdgeIs::unexplained:
        resync_alarm(alarm, sample.stamp, ResyncWhy::contradiction);
        return;
    case EdgeIs::good:
        break;
    }
    alarm.line().expect();
    while (alarm.deadline() <= sample.stamp) {
        pass_alarm(alarm);
    }
    if (alarm.line().is_open() && alarm.line().sample(sample)) {
        alarm_unreadable(alarm, sample.stamp);
    }
}

void Core::take_alarm(AlarmWatch& alarm, const LineOpened& opened) {
    alarm.line().opened(opened);
}

void Core::take_alarm(AlarmWatch& alarm, const Resync& resync) {
    alarm.lose_track();
    if (alarm.line().resync(resync)) {
        alarm_unreadable(alarm, resync.at);
    }
}

void Core::take_alarm(AlarmWatch& alarm, const LevelRead& read) {
    switch (alarm.line().read(read)) {
    case ReadSays::nothing:
        break;
    case ReadSays::contradicts:
        note_alarm(alarm, read.at, Why::contradiction);
        break;
    case ReadSays::lost_edges:
        resync_alarm(alarm, read.at, ResyncWhy::contradiction);
        break;
    }
}

void Core::take_alarm(AlarmWatch& alarm, const LineGone& gone) {
    alarm.lose_track();
    alarm.line().gone(gone.at);
    note_alarm(alarm, gone.at, Why::line_gone);
}

void Core::resync_alarm(AlarmWatch& alarm, Instant at, ResyncWhy why) {
    note_alarm(alarm, at, Why::resync);
    alarm.lose_track();
    alarm.line().lose_track();
    actions_.push(RunResync{why, line_of_alarm(index_of(alarm))});
}

void Core::alarm_unreadable(AlarmWatch& alarm, Instant at) {
    actions_.push(CloseLine{line_of_alarm(index_of(alarm))});
    alarm.lose_track();
    const bool news = alarm.line().unreadable(at);
    const Why why = news ? Why::line_unreadable : Why::line_unreadable_still;
    note_alarm(alarm, at, why, alarm.line().rate());
}

void Core::note_readable(AlarmWatch& alarm, Instant at) {
    const Duration unreadable = alarm.line().readable_again();
    const LineIndex line = line_of_alarm(index_of(alarm));
    notes_.push({at, Why::line_readable, state_, state_, unreadable, no_index, line});
}

/// As the button's, each for itself.
void Core::alarm_contradictions(Instant now) {
    for (AlarmWatch& alarm : alarms_) {
        const Instant since = alarm.line().contradicted_since();
        if (since != never && now >= since + limits().contradiction_patience) {
            resync_alarm(alarm, now, ResyncWhy::contradiction);
        }
    }
}

// --- what is due ---------------------------------------------------------------------------------

/// Not while a request or a shutdown is under way, but to announce.
bool Core::may_ask(const AlarmWatch& alarm) const noexcept {
    return alarm.announces() ||
           (state_ != State::asked && state_ != State::unanswered && state_ != State::leaving);
}

Instant Core::alarm_at(const AlarmWatch& alarm) const noexcept {
    return std::min(alarm.deadline(), may_ask(alarm) ? asks_at(alarm) : never);
}

/// One that had to wait asks as soon as the state is another.
Instant Core::asks_at(const AlarmWatch& alarm) const noexcept {
    const Instant at = alarm.asks_at();
    return at == never ? never : std::max(at, since_);
}

Instant Core::alarms_at() const noexcept {
    Instant due = never;
    for (const AlarmWatch& alarm : alarms_) {
        due = std::min(due, alarm_at(alarm));
    }
    return due;
}

Instant Core::read_due(LineIndex line) const noexcept {
    if (line == button_line) {
        return line_.contradicted_since() != never ? line_.last_read() + limits().read_again
                                                   : next_deadline();
    }
    return read_due(alarms_[line - 1]);
}

Instant Core::read_due(const AlarmWatch& alarm) const noexcept {
    return alarm.line().contradicted_since() != never
               ? alarm.line().last_read() + limits().read_again
               : alarm_at(alarm);
}

/// The one whose request was the latest, if that was an alarm's.
AlarmWatch* Core::asking_alarm() noexcept {
    return decision_.alarm < alarms_.size() ? &alarms_[decision_.alarm] : nullptr;
}

void Core::pass_alarms(Instant at) {
    for (AlarmWatch& alarm : alarms_) {
        if (alarm.deadline() == at) {
            pass_alarm(alarm);
            return;
        }
    }
    for (AlarmWatch& alarm : alarms_) {
        if (may_ask(alarm) && asks_at(alarm) == at) {
            on_alarm(index_of(alarm), at);
            return;
        }
    }
}

void Core::pass_alarm(AlarmWatch& alarm) {
    const Instant at = alarm.deadline();
    const std::uint32_t index = index_of(alarm);
    switch (alarm.pass()) {
    case AlarmWatch::Event::none:
        break;
    case AlarmWatch::Event::unreadable:
        alarm_unreadable(alarm, at);
        break;
    case AlarmWatch::Event::readable:
        note_readable(alarm, at);
        break;
    case AlarmWatch::Event::retry:
        note_alarm(alarm, at, Why::line_retry);
        actions_.push(OpenLine{line_of_alarm(index)});
        break;
    case AlarmWatch::Event::ignored:
        note_alarm(alarm, at, Why::alarm_ignored, index);
        actions_.push(KeepAlarm{index, true});
        break;
    case AlarmWatch::Event::seen:
        actions_.push(KeepAlarm{index, false});
        break;
    case AlarmWatch::Event::due:
        if (!may_ask(alarm)) {
            note_alarm(alarm, at, Why::alarm_pending, index);
        }
        break;
    case AlarmWatch::Event::forgiven:
        actions_.push(KeepAlarm{index, false});
        [[fallthrough]];
    case AlarmWatch::Event::over:
        note_alarm(alarm, at, Why::alarm_over, index);
        break;
    }
}

/// The state table's column "alarm due": asked, but where something is under way already. A press
/// that is down is spent by the state it leads to. It asks without a countdown, and whatever is
/// known of the post-halt line.
void Core::on_alarm(std::uint32_t index, Instant at) {
    AlarmWatch& alarm = alarms_[index];
    const Alarm& settings = settings_->alarms[index];
    note_alarm(alarm, at, alarm.repeating() ? Why::alarm_again : Why::alarm, index);
    alarm.asked();
    if (settings.action == Action::announce) {
        actions_.push(Publish{at, no_index, index, {}});
        return;
    }
    if (unconfirmed_) {  // an announcement of a press
        actions_.push(*unconfirmed_);
        unconfirmed_.reset();
    }
    ask({at, settings.action, settings.inhibitors, no_index, index, {}, at});
}

}  // namespace nightlatch::core
