// SPDX-License-Identifier: MIT
#pragma once

#include <span>
#include <string>
#include <string_view>

namespace nightlatch::ports {

/// Numerically the priorities of syslog(3).
enum class Priority : unsigned char { error = 3, warning = 4, notice = 5, info = 6, debug = 7 };

/// Each kind of message that programs may want to find carries a MESSAGE_ID of our own.
enum class Message : unsigned char {
    plain,
    started,     ///< the button is watched, from the start or with other settings
    decided,     ///< a press or an alarm was decided
    near_miss,   ///< let go before any stage
    asked,       ///< asked for power-off or reboot
    refused,     ///< the request was refused
    going_down,  ///< a shutdown has begun, whoever's
    line_fault,  ///< the button line is not available, vanished, or floats
    line_back,
    line_readable,  ///< it floated, and can be read again
    stuck,          ///< pressed for longer than a press can be
    reloaded,
    reload_failed,
    bus_trouble,
    cue_trouble,
    post_halt,       ///< what the look at the post-halt line's configuration found
    run_started,     ///< the logbook has this run's start, and how the run before ended
    run_ended,       ///< the logbook has this run's end
    logbook_failed,  ///< a record could not be written down
};

/// An extra journal field, told as NIGHTLATCH_NAME; upper-case [sd_journal_print(3)].
struct Field {
    std::string_view name;
    std::string value;
};

/// Where operating failures and decisions are told, once each.
struct Journal {
    Journal() = default;
    Journal(const Journal&) = delete;
    Journal& operator=(const Journal&) = delete;
    virtual ~Journal() = default;

    /// Whether such a line goes anywhere: nobody needs to make the text of one that does not.
    [[nodiscard]] virtual bool wants(Priority priority) const noexcept = 0;

    virtual void say(Priority priority,
                     Message message,
                     const std::string& text,
                     std::span<const Field> fields) = 0;

    void say(Priority priority, Message message, const std::string& text) {
        say(priority, message, text, {});
    }
};

}  // namespace nightlatch::ports
