// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"
#include "core/limits.hpp"

#include <algorithm>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::core {

using namespace std::chrono_literals;

enum class Action : unsigned char {
    power_off,
    reboot,
    announce,  ///< only told to those who follow, by the stage's name
};

enum class ActOn : unsigned char {
    release,    ///< the longest stage reached acts when the button is let go
    threshold,  ///< acts while held: for circuits that the button does not power
};

/// What to do with other programs' blocking inhibitor locks.
enum class Inhibitors : unsigned char { respect, override_them };

enum class WithoutPostHalt : unsigned char { allow, warn, refuse };

/// What is known of the kernel's post-halt configuration.
enum class Verdict : unsigned char { configured, contradicted, absent, cannot_tell };

/// For people. Only a witnessed disconnect proves that the circuit lets go, whatever is configured.
constexpr std::string_view text_of(Verdict verdict) noexcept {
    switch (verdict) {
    case Verdict::configured:
        return "configured, not yet proven";
    case Verdict::contradicted:
        return "contradicted";
    case Verdict::absent:
        return "absent";
    case Verdict::cannot_tell:
        return "cannot tell";
    }
    return "";
}

struct Stage {
    std::string name;
    Duration hold{};  ///< longer than the press interval, shorter than stuck_after
    Action action = Action::power_off;

    bool operator==(const Stage&) const = default;
};

/// What a level that is there when an alarm is first looked at in a boot counts for.
enum class AtStart : unsigned char { ignore, count };

/// An input whose lasting level asks for an action; debounced by the button's intervals.
struct Alarm {
    std::string name;
    Action action = Action::power_off;
    Inhibitors inhibitors = Inhibitors::respect;
    Duration lasting = 10s;  ///< how long its level lasts until it is due, and the other until over
    AtStart at_start = AtStart::ignore;
    std::optional<Duration> repeat{};  ///< after a refusal it asks again; nothing: it does not

    bool operator==(const Alarm&) const = default;
};

/// Checked settings: stages are in ascending order of hold, no two of one hold. Whoever makes them
/// (the configuration reader, a test) sees to that; the core does not check again.
struct Settings {
    Duration press_interval = 30ms;    ///< how long pressed must be stable to count; >= 0
    Duration release_interval = 30ms;  ///< how long released must be stable to count; >= 0
    Duration stuck_after = 30s;        ///< a press as long as this is no longer one
    ActOn act_on = ActOn::release;
    /// The least that is added to the hold when acting on the threshold; the core adds more on a
    /// chip that sleeps.
    Duration threshold_guard = limits::guard;
    std::vector<Stage> stages;
    Duration grace{};  ///< countdown before a decided action; 0 for none
    Inhibitors inhibitors = Inhibitors::respect;
    WithoutPostHalt without_post_halt = WithoutPostHalt::warn;
    std::vector<Alarm> alarms;
    Limits limits{};

    bool operator==(const Settings&) const = default;
};

/// Does a press or an alarm ask past other programs' locks?
[[nodiscard]] inline bool passes_locks(const Settings& settings) noexcept {
    const auto asks_past = [](const Alarm& alarm) {
        return alarm.action != Action::announce && alarm.inhibitors == Inhibitors::override_them;
    };
    return settings.inhibitors == Inhibitors::override_them ||
           std::any_of(settings.alarms.begin(), settings.alarms.end(), asks_past);
}

}  // namespace nightlatch::core
