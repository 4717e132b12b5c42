// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"
#include "core/cue.hpp"

#include <cstdint>
#include <string>

namespace nightlatch::core {

/// Why the core did what it did. Each has one sentence in trace.cpp.
enum class Why : unsigned char {
    press_accepted,
    release_accepted,
    glitch,         ///< the old level came back for long enough
    pressed_again,  ///< its drop-outs add up to a release: a new press
    stage_reached,
    near_miss,  ///< let go before the first stage
    decided,
    announced,
    countdown_begun,
    called_off,  ///< by a press, during the countdown
    voided,      ///< a Resync, a reload, somebody's shutdown ended a press or a countdown
    spent,       ///< a press while a request is under way, or one that called off
    stuck,
    pressed_since_start,  ///< pressed for stuck_after without having been seen released
    resync,
    line_gone,
    line_unreadable,        ///< it floats, or is disturbed
    line_unreadable_still,  ///< found again, and told before
    line_readable,          ///< it could not be read, and has been readable for long enough since
    line_retry,
    asked,
    request_sent,
    not_sent,   ///< within its patience: withdrawn
    no_answer,  ///< it was sent, and may still act
    given_up,   ///< still none: a new press may ask again
    request_accepted,
    nothing_came,  ///< it was accepted
    request_refused,
    request_failed,  ///< refused while a shutdown is under way, ours or not
    answered_late,   ///< a request that is over
    no_post_halt,    ///< power-off refused because the verdict is contradicted or absent
    going_down,
    not_going_down,
    not_preparing,      ///< no shutdown is being prepared
    preparing_unknown,  ///< nobody says whether one is
    dry_leaving,        ///< a dry run: shown, not asked
    dry_over,
    called_off_from_outside,
    nothing_to_call_off,
    login_manager_gone,
    login_manager_back,
    refusal_over,
    alarm,          ///< its level has lasted
    alarm_again,    ///< it asks again, after a refusal
    alarm_over,     ///< the other level has lasted
    alarm_ignored,  ///< its level was there at the first look
    alarm_pending,  ///< due while a request or a shutdown is under way
    late_edge,      ///< older than the last advance; it kept its stamp
    out_of_order,   ///< older than the edge before it: the line is read anew
    contradiction,  ///< the level read is not the one the edges say
    ignored,        ///< an input that this state has no use for
};

/// One line of the trace: what happened at `at`, and where that led.
struct Note {
    Instant at{};
    Why why = Why::ignored;
    State from = State::waiting;
    State to = State::waiting;
    Duration length{};  ///< how long it had been pressed, or could not be read, where that matters
    /// The stage or alarm; of an answer its words, of an unreadable line its edges per second.
    std::uint32_t index = UINT32_MAX;
    std::uint32_t line = 0;  ///< which line it is about: the button's, or an alarm's
};

/// One sentence for people.
std::string text_of(Why why);

}  // namespace nightlatch::core
