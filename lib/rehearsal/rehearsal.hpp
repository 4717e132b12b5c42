// SPDX-License-Identifier: MIT
#pragma once

#include "config/settings.hpp"
#include "rehearsal/moment.hpp"
#include "rehearsal/press_script.hpp"
#include "wave/timeline.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::rehearsal {

enum class AskedOutcome : unsigned char {
    open,  ///< the script ended before
    accepted,
    refused,
    unanswered,
};

std::string_view text_of(AskedOutcome outcome) noexcept;

/// A request that the system would have been asked. Times are since the start of the script.
struct Asked {
    Duration at{};
    core::Action action = core::Action::power_off;
    core::Inhibitors inhibitors = core::Inhibitors::respect;
    supervisor::Cause why;
    AskedOutcome outcome = AskedOutcome::open;
};

/// A stage or alarm that was told to those who follow.
struct Announced {
    Duration at{};
    std::string name;
};

/// What came of a rehearsal: the same account that a simulated run tells, and the same as lanes.
struct Rehearsal {
    std::vector<Moment> moments;  ///< in order of time
    std::vector<Asked> asked;
    std::vector<Announced> announced;
    std::vector<core::Cue> cues;  ///< as they were shown; their times are the virtual clock's
    wave::Timeline timeline;
    Instant start;            ///< of the script, on the virtual clock
    std::uint64_t turns = 0;  ///< how often the service was woken
};

struct RehearsalPlan {
    config::Settings settings;
    PressScript script;
    bool details = false;  ///< with what the core noted and a journal would not show
};

/// Plays the script on the configuration in virtual time, with the service's own wiring and core.
/// A login manager that the script says nothing of accepts every request.
Rehearsal rehearse(RehearsalPlan plan);

/// The cue shown at that moment since the start; nothing before the first.
std::optional<core::CueName> cue_at(const Rehearsal& rehearsal, Duration at);

}  // namespace nightlatch::rehearsal
