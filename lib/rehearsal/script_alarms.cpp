// SPDX-License-Identifier: MIT
#include "base/nearest.hpp"
#include "base/text.hpp"
#include "rehearsal/press_script.hpp"

#include <algorithm>
#include <vector>

namespace nightlatch::rehearsal {
namespace {

std::string no_such_alarm(const std::string& name, const std::vector<std::string_view>& names) {
    if (names.empty()) {
        return "the configuration has no [[alarm]]";
    }
    const auto near = nearest(name, names);
    return "the configuration has no alarm " + in_quotes(name) +
           (near ? "; did you mean " + in_quotes(*near) + "?" : "");
}

}  // namespace

config::Diagnostics unknown_alarms(const PressScript& script, const core::Settings& settings) {
    std::vector<std::string_view> names;
    for (const core::Alarm& alarm : settings.alarms) {
        names.push_back(alarm.name);
    }
    config::Diagnostics unknown;
    for (const NamedAlarm& named : script.alarms) {
        if (std::find(names.begin(), names.end(), named.name) == names.end()) {
            unknown.push_back(
                {Severity::error, named.place, "alarm.name", no_such_alarm(named.name, names)});
        }
    }
    return unknown;
}

}  // namespace nightlatch::rehearsal
