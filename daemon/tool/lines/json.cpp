// SPDX-License-Identifier: MIT
#include "daemon/tool/json.hpp"

#include "config/words.hpp"
#include "daemon/tool/lines/lines.hpp"

namespace nightlatch::tool {
namespace {

const char* word(audit::Suits suits) {
    switch (suits) {
    case audit::Suits::yes:
        return "yes";
    case audit::Suits::with_care:
        return "with care";
    case audit::Suits::no:
        return "no";
    }
    return "";
}

Json pin_json(const audit::PinUse& pin) {
    switch (pin.now) {
    case audit::PinNow::gpio:
        return "gpio";
    case audit::PinNow::other:
        return pin.what;
    case audit::PinNow::unknown:
        break;
    }
    return nullptr;
}

Json line_json(const audit::Chip& chip, unsigned offset, const LinesFacts& facts) {
    const audit::ChipLine& line = chip.lines[offset];
    const audit::LineView view = audit::view_line(chip, offset, facts.uses, facts.pins);
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
    for (const audit::Chip& chip : facts.survey.chips) {
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
