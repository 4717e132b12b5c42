// SPDX-License-Identifier: MIT
#include "daemon/tool/json.hpp"

#include "daemon/tool/client/state_json.hpp"
#include "daemon/tool/status/status.hpp"

namespace nightlatch::tool {

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
    return json_text("nightlatch-status", 1, json);
}

}  // namespace nightlatch::tool
