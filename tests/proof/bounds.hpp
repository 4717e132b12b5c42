// SPDX-License-Identifier: MIT
#pragma once

#include "core/settings.hpp"

#include <algorithm>

namespace nightlatch::proof {

/// One tick of the scaled time.
constexpr Duration one_tick{1};

/// How late things may be.
struct Lateness {
    Duration wake_up = one_tick;  ///< after a deadline
    Duration edge = one_tick;     ///< after its stamp
    Duration resync = one_tick;   ///< after it was demanded, or the line was to be opened
};

/// From which age on a stamp is only "old". A diagonal comparison (stamp against stamp) needs more
/// than the largest constant: the other stamp's greatest age as well.
struct Bounds {
    /// `goes_down`: a shutdown may come, and then how long the button has been down counts.
    Bounds(const core::Settings& settings, const Lateness& lateness, bool goes_down)
        : downs(goes_down), late(lateness.wake_up), overtaken(lateness.edge + one_tick),
          recent(lateness.wake_up + lateness.edge + lateness.resync +
                 settings.limits.contradiction_patience + 2 * one_tick),
          episode(settings.limits.unsettled + recent),
          pressed(settings.stuck_after + episode + settings.grace + settings.release_interval +
                  settings.limits.call_off_pause),
          asked(settings.limits.answer_patience - settings.limits.unanswered_least + recent),
          leaving(settings.limits.longest_shutdown + recent),
          trial(settings.limits.trial + episode) {
        held = settings.stages.back().hold + settings.limits.guard + late + overtaken;
        calling_off =
            settings.grace > Duration::zero()
                ? std::max(settings.limits.call_off_hold, settings.press_interval) + recent
                : overtaken;
        for (const core::Alarm& alarm : settings.alarms) {
            lasting = std::max(lasting, alarm.lasting + episode);
        }
    }

    bool downs;
    Duration late;
    Duration overtaken;  ///< no edge is older
    Duration recent;     ///< what may still be overtaken, or was due and has not passed
    Duration episode;    ///< since the first edge of one
    Duration pressed;    ///< since a press began
    Duration asked;
    Duration leaving;
    Duration trial;
    Duration held{};         ///< of a press, for an onlooker
    Duration calling_off{};  ///< of one that calls off
    Duration lasting{};
};

}  // namespace nightlatch::proof
