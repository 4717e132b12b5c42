// SPDX-License-Identifier: MIT
#pragma once

#include "core/action.hpp"
#include "core/line.hpp"
#include "core/settings.hpp"

#include <string>

namespace nightlatch::core {

/// What is remembered of an alarm over a restart of the service, within a boot.
struct KnownAlarm {
    std::string name;
    bool ignored = false;

    bool operator==(const KnownAlarm&) const = default;
};

/// One alarm: its line, and how long its level has lasted.
///
///   level    ____|======(lasting)======|=====|__(shorter)_|====|____(lasting)____
///                                     due: asks                                  over
///
/// Due it asks, and until it is over again only after a refusal, by `repeat`. Over is what has read
/// the other level for as long: a battery that recovers without its load does not flap.
class AlarmWatch {
public:
    /// The settings must outlive it.
    void set(const Settings& settings, std::uint32_t index) noexcept;

    /// Its level was found to be ignored at the first look in this boot, or not; nothing is known.
    void remember(bool ignored) noexcept;

    [[nodiscard]] Line& line() noexcept { return line_; }

    [[nodiscard]] const Line& line() const noexcept { return line_; }

    /// Nothing is known of the line: what had not lasted begins anew.
    void lose_track() noexcept;

    /// What happens at the next deadline.
    enum class Event : unsigned char {
        none,
        unreadable,  ///< the line
        readable,    ///< it is again
        retry,       ///< the line is to be opened
        ignored,     ///< a level that was there at the first look in this boot
        seen,        ///< the first look is over, and nothing is ignored
        due,
        over,
        forgiven,  ///< over, and had been ignored
    };

    /// When the line or its level has something due; never while a read contradicts.
    [[nodiscard]] Instant deadline() const noexcept;
    /// Passes it. Precondition: it has come.
    Event pass() noexcept;

    /// When it wants to ask, once the core lets it: due, or due again, and its level lasts.
    [[nodiscard]] Instant asks_at() const noexcept;

    /// It asks, or is published.
    void asked() noexcept { ask_at_ = never; }

    /// Its request has failed for certain.
    void refused(Instant at) noexcept;

    /// Its request was not sent, for somebody's shutdown came first.
    void put_off(Instant at) noexcept { ask_at_ = at; }

    [[nodiscard]] bool announces() const noexcept { return alarm_->action == Action::announce; }

    [[nodiscard]] bool repeating() const noexcept { return repeating_; }

private:
    friend struct Anatomy;

    [[nodiscard]] Instant due_at() const noexcept;
    [[nodiscard]] Instant over_at() const noexcept;
    Event settle() noexcept;
    Event first_look(bool there) noexcept;

    const Alarm* alarm_ = nullptr;
    Line line_;
    bool looked_ = false;   ///< in this boot
    bool ignored_ = false;  ///< until it has been over
    bool due_ = false;      ///< until it has been over
    bool repeating_ = false;
    Instant since_ = never;  ///< its level has lasted; until it is due
    Instant clear_ = never;  ///< the other level has
    Instant ask_at_ = never;
};

}  // namespace nightlatch::core
