// SPDX-License-Identifier: MIT
#include "told.hpp"

#include <array>
#include <utility>

namespace nightlatch::proof {

using namespace core;

namespace {

using Scaled = std::pair<const char*, Duration Limits::*>;

/// Those that scale.cpp sets; the rest are as published.
constexpr std::array scaled{
    Scaled{"call_off_pause", &Limits::call_off_pause},
    Scaled{"call_off_hold", &Limits::call_off_hold},
    Scaled{"guard", &Limits::guard},
    Scaled{"sleeping_guard", &Limits::sleeping_guard},
    Scaled{"unsettled", &Limits::unsettled},
    Scaled{"changes_within", &Limits::changes_within},
    Scaled{"busy", &Limits::busy},
    Scaled{"busy_pause", &Limits::busy_pause},
    Scaled{"trial", &Limits::trial},
    Scaled{"trial_patience", &Limits::trial_patience},
    Scaled{"first_back_off", &Limits::first_back_off},
    Scaled{"longest_back_off", &Limits::longest_back_off},
    Scaled{"read_again", &Limits::read_again},
    Scaled{"contradiction_patience", &Limits::contradiction_patience},
    Scaled{"patience", &Limits::patience},
    Scaled{"answer_patience", &Limits::answer_patience},
    Scaled{"unanswered_least", &Limits::unanswered_least},
    Scaled{"route_patience", &Limits::route_patience},
    Scaled{"preparing_patience", &Limits::preparing_patience},
    Scaled{"preparing_again", &Limits::preparing_again},
    Scaled{"longest_shutdown", &Limits::longest_shutdown},
    Scaled{"refusal_shown", &Limits::refusal_shown},
    Scaled{"dry_shown", &Limits::dry_shown},
};

std::string ticks(Duration duration) {
    return "Duration(" + std::to_string(duration.count()) + ")";
}

std::string stage(const Stage& one) {
    return "settings.stages.push_back({\"" + one.name + "\", " + ticks(one.hold) +
           ", Action::power_off});";
}

std::string alarm(const Alarm& one) {
    return "settings.alarms.push_back({.name = \"" + one.name +
           "\", .lasting = " + ticks(one.lasting) +
           (one.repeat ? ", .repeat = " + ticks(*one.repeat) : "") + "});";
}

}  // namespace

std::vector<std::string> told_settings(const Settings& settings) {
    const auto set = [](const std::string& name, const std::string& value) {
        return "settings." + name + " = " + value + ";";
    };
    std::vector<std::string> lines{
        "Settings settings;",
        set("press_interval", ticks(settings.press_interval)),
        set("release_interval", ticks(settings.release_interval)),
        set("stuck_after", ticks(settings.stuck_after)),
        set("act_on", settings.act_on == ActOn::release ? "ActOn::release" : "ActOn::threshold"),
        set("threshold_guard", ticks(settings.threshold_guard)),
        set("grace", ticks(settings.grace))};
    for (const Stage& one : settings.stages) {
        lines.push_back(stage(one));
    }
    for (const Alarm& one : settings.alarms) {
        lines.push_back(alarm(one));
    }
    for (const auto& [name, member] : scaled) {
        if (settings.limits.*member != published_limits.*member) {
            lines.push_back(set(std::string("limits.") + name, ticks(settings.limits.*member)));
        }
    }
    const Limits& limits = settings.limits;
    lines.push_back(set("limits.trial_intervals", std::to_string(limits.trial_intervals)));
    lines.push_back(set("limits.changes", std::to_string(limits.changes) + "U"));
    lines.push_back(set("limits.trial_changes", std::to_string(limits.trial_changes) + "U"));
    lines.emplace_back("Core core(std::make_shared<const Settings>(settings));");
    return lines;
}

}  // namespace nightlatch::proof
