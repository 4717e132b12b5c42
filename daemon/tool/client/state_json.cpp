// SPDX-License-Identifier: MIT
#include "daemon/tool/client/state_json.hpp"

namespace nightlatch::tool {
namespace {

constexpr const char* follow_format = "nightlatch-follow";
constexpr int follow_version = 1;

std::int64_t moment(Instant when) {
    return microseconds(when.time_since_epoch());
}

Json stages_json(const ServiceState& state) {
    Json all = Json::array();
    for (const StageSeen& stage : state.stages) {
        all.push_back(Json{
            {"name", stage.name}, {"hold", microseconds(stage.hold)}, {"action", stage.action}});
    }
    return all;
}

Json alarms_json(const ServiceState& state) {
    Json all = Json::array();
    for (const AlarmSeen& alarm : state.alarms) {
        all.push_back(Json{{"name", alarm.name}, {"due", alarm.due}});
    }
    return all;
}

template <class T>
void add_known(Json& json, std::string_view name, const std::optional<T>& value) {
    if (value) {
        json[name] = *value;
    }
}

Json reason_json(const ReasonSeen& reason) {
    if (reason.code.empty()) {
        return nullptr;
    }
    Json json{{"code", reason.code}};
    add_known(json, "alarm", reason.alarm);
    add_known(json, "who", reason.who);
    add_known(json, "why", reason.why);
    add_known(json, "text", reason.text);
    add_known(json, "error", reason.error);
    add_known(json, "rate", reason.rate);
    return json;
}

}  // namespace

Json state_json(const ServiceState& state, Instant now) {
    const ConfigurationSeen& file = state.configuration;
    return {
        {"now", moment(now)},
        {"running", true},
        {"cue", state.cue},
        {"since", moment(state.since)},
        {"until", state.until == never ? Json() : Json(moment(state.until))},
        {"stage", state.stage.empty() ? Json() : Json(state.stage)},
        {"stages", stages_json(state)},
        {"reason", reason_json(state.reason)},
        {"alarms", alarms_json(state)},
        {"post_halt", state.post_halt},
        {"line",
         {{"chip", state.line.chip}, {"line", state.line.line}, {"watching", state.line.watching}}},
        {"level", state.level},
        {"configuration",
         {{"path", file.path},
          {"loaded", moment(file.loaded)},
          {"on_disk", file.on_disk},
          {"trouble", file.trouble}}},
        {"dry", state.dry},
        {"service", state.version}};
}

std::string follow_line(const ServiceState& state, Instant now) {
    return json_line(follow_format, follow_version, state_json(state, now));
}

std::string follow_line(const std::string& announced, Instant now) {
    return json_line(follow_format,
                     follow_version,
                     {{"now", moment(now)}, {"running", true}, {"announced", announced}});
}

std::string follow_line(Absent why, Instant now) {
    return json_line(follow_format,
                     follow_version,
                     {{"now", moment(now)}, {"running", false}, {"why", text_of(why)}});
}

}  // namespace nightlatch::tool
