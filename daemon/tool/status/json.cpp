// SPDX-License-Identifier: MIT
#include "daemon/tool/json.hpp"

#include "daemon/tool/client/state_json.hpp"
#include "daemon/tool/logbook/logbook.hpp"
#include "daemon/tool/status/status.hpp"

namespace nightlatch::tool {
namespace {

Json logbook_of(const StatusFacts& facts) {
    if (!facts.logbook) {
        return {{"file", facts.logbook_file},
                {"trouble", facts.logbook.what_is_missing()},
                {"last", nullptr},
                {"summary", nullptr}};
    }
    const logbook::Run* const last = facts.logbook->last_judged();
    return {{"file", facts.logbook_file},
            {"trouble", nullptr},
            {"last", last == nullptr ? Json() : Json(end_word(last->end.end))},
            {"summary", summary_json(facts.logbook->runs)}};
}

}  // namespace

std::string status_json(const StatusFacts& facts) {
    Json json = facts.state ? state_json(*facts.state, facts.now)
                            : Json{{"now", microseconds(facts.now.time_since_epoch())},
                                   {"running", false},
                                   {"why", text_of(facts.absent)}};
    Json sentences = Json::array();
    const std::vector<Wrong> wrong = what_is_wrong(facts);
    for (const Wrong& one : wrong) {
        sentences.push_back(one.what);
    }
    json["fine"] = wrong.empty();
    json["wrong"] = std::move(sentences);
    json["next"] = wrong.empty() ? Json() : Json(wrong.front().next);
    json["held_by"] = facts.holder && !facts.holder->empty() ? Json(*facts.holder) : Json();
    json["logbook"] = logbook_of(facts);
    return json_text("nightlatch-status", 1, json);
}

}  // namespace nightlatch::tool
