// SPDX-License-Identifier: MIT
#include "daemon/tool/json.hpp"

#include "config/words.hpp"
#include "daemon/tool/lines/lines.hpp"

namespace nightlatch::tool {
namespace {

const char* word(lines::Suits suits) {
    switch (suits) {
    case lines::Suits::yes:
        return "yes";
    case lines::Suits::with_care:
        return "with care";
    case lines::Suits::no:
        return "no";
    }
    return "";
}

Json pin_json(const lines::PinUse& pin) {
    switch (pin.now) {
    case lines::PinNow::gpio:
        return "gpio";
    case lines::PinNow::other:
        return pin.what;
    case lines::PinNow::unknown:
        break;
    }
    return nullptr;
}

Json line_json(const lines::Chip& chip, unsigned offset, const LinesFacts& facts) {
    const lines::Line& line = chip.lines[offset];
    const lines::LineView view = lines::view_line(chip, offset, facts.uses, facts.pins);
    return {{"offset", offset},
            {"name", line.name},
            {"output", line.output},
            {"active_low", line.active_low},
            {"bias", word_for(config::bias_words, line.bias)},
            {"free", view.free},
            {"held_by", view.free ? Json(nullptr) : Json(line.consumer)},
            {"pin", pin_json(view.pin)},
            {"suits", word(view.suits)},
            {"why", view.why}};
}

}  // namespace

std::string lines_json(const LinesFacts& facts) {
    Json chips = Json::array();
    for (const lines::Chip& chip : facts.survey.chips) {
        Json lines = Json::array();
        for (unsigned offset = 0; offset < chip.lines.size(); ++offset) {
            lines.push_back(line_json(chip, offset, facts));
        }
        chips.push_back({{"name", chip.name},
                         {"label", chip.label},
                         {"node", chip.node},
                         {"sleeps", chip.sleeps},
                         {"lines", std::move(lines)}});
    }
    return json_text("nightlatch-lines",
                     1,
                     {{"usable", lines_status(facts) == 0},
                      {"chips", std::move(chips)},
                      {"not_seen", facts.not_seen}});
}

}  // namespace nightlatch::tool
