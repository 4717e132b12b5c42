// SPDX-License-Identifier: MIT
#include "daemon/tool/json.hpp"

#include "config/words.hpp"
#include "daemon/tool/rehearse/rehearse.hpp"
#include "supervisor/narrate.hpp"

namespace nightlatch::tool {
namespace {

/// The word for whose doing it is, and one for those that have none in the text.
std::string_view word_of(rehearsal::Whose whose) {
    switch (whose) {
    case rehearsal::Whose::info:
        return "info";
    case rehearsal::Whose::detail:
        return "detail";
    case rehearsal::Whose::remark:
        return "remark";
    default:
        return rehearsal::text_of(whose);
    }
}

Json requests_json(const rehearsal::Rehearsal& rehearsal) {
    Json requests = Json::array();
    for (const rehearsal::Asked& asked : rehearsal.asked) {
        requests.push_back({{"at_us", microseconds(asked.at)},
                            {"action", supervisor::text_of(asked.action)},
                            {"inhibitors", word_for(config::inhibitor_words, asked.inhibitors)},
                            {"outcome", rehearsal::text_of(asked.outcome)},
                            {"why", supervisor::tell(asked.why)}});
    }
    return requests;
}

Json announced_json(const rehearsal::Rehearsal& rehearsal) {
    Json announced = Json::array();
    for (const rehearsal::Announced& one : rehearsal.announced) {
        announced.push_back({{"at_us", microseconds(one.at)}, {"name", one.name}});
    }
    return announced;
}

Json cues_json(const rehearsal::Rehearsal& rehearsal) {
    Json cues = Json::array();
    for (const wave::CueChange& cue : rehearsal.timeline.cues) {
        cues.push_back({{"at_us", microseconds(cue.at)}, {"cue", cue.cue}, {"state", cue.state}});
    }
    return cues;
}

Json events_json(const rehearsal::Rehearsal& rehearsal) {
    Json events = Json::array();
    for (const rehearsal::Moment& moment : rehearsal.moments) {
        events.push_back({{"at_us", microseconds(moment.at)},
                          {"lane", word_of(moment.whose)},
                          {"text", moment.text}});
    }
    return events;
}

Json expectations_json(const std::vector<rehearsal::Checked>& expectations) {
    Json all = Json::array();
    for (const rehearsal::Checked& one : expectations) {
        all.push_back({{"line", one.place.line},
                       {"met", one.met},
                       {"expected", one.expected},
                       {"happened", one.happened}});
    }
    return all;
}

}  // namespace

std::string rehearse_json(const RehearseReport& report) {
    const Json json{{"config", report.config},
                    {"script", report.script},
                    {"end_us", microseconds(report.rehearsal.timeline.end)},
                    {"requests", requests_json(report.rehearsal)},
                    {"announced", announced_json(report.rehearsal)},
                    {"cues", cues_json(report.rehearsal)},
                    {"events", events_json(report.rehearsal)},
                    {"expectations", expectations_json(report.expectations)}};
    return json_text("nightlatch-rehearse", 1, json);
}

}  // namespace nightlatch::tool
