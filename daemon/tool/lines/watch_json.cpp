// SPDX-License-Identifier: MIT
#include "config/to_toml.hpp"
#include "config/words.hpp"
#include "daemon/tool/json.hpp"
#include "daemon/tool/lines/watch.hpp"

namespace nightlatch::tool {
namespace {

const char* word(WatchEnd end) {
    switch (end) {
    case WatchEnd::pressed:
        return "pressed";
    case WatchEnd::time:
        return "time";
    case WatchEnd::signal:
        return "signal";
    }
    return "";
}

Json line_json(const Chips& chips, const PickedLine& line, const bounce::LineWatch& watch) {
    return {{"chip", chips[line.chip].name},
            {"label", chips[line.chip].label},
            {"offset", line.offset},
            {"name", chips[line.chip].lines[line.offset].name},
            {"moved", watch.changes() > 0},
            {"edges", watch.edges()},
            {"lost", watch.lost()},
            {"rest", watch.rest() == Level::active ? "high" : "low"},
            {"whole_press", watch.whole_press()},
            {"unsteady", watch.unsteady()}};
}

}  // namespace

std::string watch_json(const LinesFacts& facts,
                       const WatchSeen& seen,
                       const WatchOptions& options) {
    const Chips& chips = facts.survey.chips;
    Json lines = Json::array();
    for (std::size_t i = 0; i < seen.lines.size(); ++i) {
        lines.push_back(line_json(chips, seen.lines[i], seen.watches[i]));
    }
    Json json{{"ended_by", word(seen.end)},
              {"moved", watch_status(seen) == 0},
              {"lines", std::move(lines)},
              {"button", nullptr},
              {"block", nullptr}};
    if (const auto first = first_moved(seen)) {
        const config::Button button = button_of(chips, seen, *first, options.bias);
        json["button"] = {{"chip", button.where.chip},
                          {"line", button.where.line},
                          {"pressed", word_for(config::level_words, button.active_low)},
                          {"bias", word_for(config::bias_words, button.bias)}};
        json["block"] = config::button_block(button);
    }
    return json_text("nightlatch-lines-watch", 1, json);
}

}  // namespace nightlatch::tool
