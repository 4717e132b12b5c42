// SPDX-License-Identifier: MIT
#include "core/alarm_watch.hpp"

#include <algorithm>

namespace nightlatch::core {

void AlarmWatch::set(const Settings& settings, std::uint32_t index) noexcept {
    alarm_ = &settings.alarms[index];
    line_.set(settings);
}

void AlarmWatch::remember(bool ignored) noexcept {
    looked_ = true;
    ignored_ = ignored;
}

void AlarmWatch::lose_track() noexcept {
    since_ = never;
    clear_ = never;
}

// --- what is due ---------------------------------------------------------------------------------

Instant AlarmWatch::deadline() const noexcept {
    if (line_.contradicted_since() != never) {
        return never;
    }
    return std::min({line_.settles_at(),
                     line_.unreadable_at(),
                     line_.readable_at(),
                     line_.retry_at(),
                     due_at(),
                     over_at()});
}

Instant AlarmWatch::due_at() const noexcept {
    const bool counts = !due_ && !ignored_ && since_ != never;
    return counts && line_.debounce().confirmed_pressed()
               ? std::max(since_ + alarm_->lasting, line_.settled_at())
               : never;
}

Instant AlarmWatch::over_at() const noexcept {
    const Debounce& level = line_.debounce();
    const bool counts = (due_ || ignored_) && clear_ != never;
    return counts && level.settled_released() && !level.in_episode()
               ? std::max(clear_ + alarm_->lasting, line_.settled_at())
               : never;
}

Instant AlarmWatch::asks_at() const noexcept {
    const bool lasts = line_.debounce().confirmed_pressed() && line_.contradicted_since() == never;
    return due_ && ask_at_ != never && lasts ? std::max(ask_at_, line_.settled_at()) : never;
}

AlarmWatch::Event AlarmWatch::pass() noexcept {
    const Instant at = deadline();
    if (line_.readable_at() == at) {  // before what may find it unreadable at that very moment
        return Event::readable;
    }
    if (line_.settles_at() == at) {
        return settle();
    }
    if (line_.unreadable_at() == at) {
        return Event::unreadable;
    }
    if (line_.retry_at() == at) {
        line_.retry();
        return Event::retry;
    }
    if (due_at() == at) {
        due_ = true;
        repeating_ = false;
        ask_at_ = at;
        return Event::due;
    }
    const bool forgiven = ignored_;
    due_ = false;
    ignored_ = false;
    ask_at_ = never;
    return forgiven ? Event::forgiven : Event::over;
}

AlarmWatch::Event AlarmWatch::settle() noexcept {
    const Settled settled = line_.settle();
    switch (settled.kind) {
    case SettleKind::pressed:
    case SettleKind::found_pressed:
    case SettleKind::pressed_again:  // until it is due its drop-outs add up
        since_ = settled.edge;
        clear_ = never;
        break;
    case SettleKind::released:
        since_ = never;
        clear_ = settled.edge;
        break;
    case SettleKind::glitch:
        break;
    }
    if (line_.changed_too_often()) {
        return Event::unreadable;
    }
    return first_look(settled.kind == SettleKind::found_pressed);
}

AlarmWatch::Event AlarmWatch::first_look(bool there) noexcept {
    if (looked_) {
        return Event::none;
    }
    looked_ = true;
    ignored_ = there && alarm_->at_start == AtStart::ignore;
    return ignored_ ? Event::ignored : Event::seen;
}

void AlarmWatch::refused(Instant at) noexcept {
    ask_at_ = due_ && alarm_->repeat ? at + *alarm_->repeat : never;
    repeating_ = true;
}

}  // namespace nightlatch::core
