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
    unsettled,      ///< neither level held for too long: the press is void
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
    line_storm,
    line_retry,
    asked,
    no_answer,
    request_accepted,
    request_refused,
    no_post_halt,  ///< power-off refused because the verdict is contradicted or absent
    going_down,
    not_going_down,
    login_manager_gone,
    login_manager_back,
    refusal_over,
    alarm,
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
    Duration length{};                 ///< how long it had been pressed, where that matters
    std::uint32_t index = UINT32_MAX;  ///< the stage or alarm, where that matters
};

/// One sentence for people.
std::string text_of(Why why);

}  // namespace nightlatch::core
