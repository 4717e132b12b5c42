// SPDX-License-Identifier: MIT
#include "daemon/tool/pick_lines.hpp"

#include "base/text.hpp"
#include "lines/find.hpp"

#include <algorithm>

namespace nightlatch::tool {
namespace {

/// A name that configurations and command lines may use: not read as an offset or a chip's number,
/// and nothing in it that steers a terminal.
bool usable(const std::string& name) {
    return !name.empty() && is_safe(name) && !lines::offset_in(name);
}

std::string all_chips(const Chips& chips) {
    std::string text;
    for (const lines::Chip& chip : chips) {
        text += (text.empty() ? "" : ", ") + lines::text_of(chip);
    }
    return text.empty() ? "none can be seen" : text;
}

std::vector<PickedLine> lines_named(const Chips& chips, const std::string& name) {
    std::vector<PickedLine> found = every_line(chips);
    std::erase_if(found, [&](const PickedLine& line) {
        return name.empty() || chips[line.chip].lines[line.offset].name != name;
    });
    return found;
}

Result<PickedLine, std::string> pick_on(const Chips& chips,
                                        const std::string& chip,
                                        const std::string& line) {
    const auto index = pick_chip(chips, chip);
    if (!index) {
        return Unexpected{index.error()};
    }
    const auto offset = lines::find_line(chips[*index], line);
    if (!offset) {
        return Unexpected{lines::why_no_line(chips[*index], line, offset.error())};
    }
    return PickedLine{*index, *offset};
}

}  // namespace

std::vector<PickedLine> every_line(const Chips& chips) {
    std::vector<PickedLine> lines;
    for (std::size_t chip = 0; chip < chips.size(); ++chip) {
        for (unsigned offset = 0; offset < chips[chip].lines.size(); ++offset) {
            lines.push_back({chip, offset});
        }
    }
    return lines;
}

Result<std::size_t, std::string> pick_chip(const Chips& chips, const std::string& text) {
    const auto found = lines::find_chip(chips, text);
    if (found) {
        return *found;
    }
    const std::size_t several = found.error().candidates.size();
    return Unexpected{several == 0
                          ? "no GPIO chip " + in_quotes(text) + ": " + all_chips(chips)
                          : std::to_string(several) + " chips are labelled " + in_quotes(text) +
                                ": give a name instead, " + all_chips(chips)};
}

Result<PickedLine, std::string> pick_line(const Chips& chips,
                                          const std::string& text,
                                          const std::optional<std::string>& chip) {
    if (chip) {
        return pick_on(chips, *chip, text);
    }
    if (lines::offset_in(text)) {
        if (chips.size() == 1) {
            return pick_on(chips, chips.front().name, text);
        }
        return Unexpected{"line " + text + " of which chip? Say CHIP:" + text + ": " +
                          all_chips(chips)};
    }
    const std::vector<PickedLine> named = lines_named(chips, text);
    if (named.size() == 1) {
        return named.front();
    }
    if (named.size() > 1) {
        std::string choices;
        for (const PickedLine& line : named) {
            choices += (choices.empty() ? "" : ", ") + short_name(chips, line);
        }
        return Unexpected{std::to_string(named.size()) + " lines are named " + in_quotes(text) +
                          ": say which, " + choices};
    }
    const std::size_t colon = text.rfind(':');
    if (colon == std::string::npos) {
        return Unexpected{"no line is named " + in_quotes(text) +
                          ": nightlatch lines --all shows those that there are"};
    }
    return pick_on(chips, text.substr(0, colon), text.substr(colon + 1));
}

lines::LineName config_name(const Chips& chips, const PickedLine& line) {
    const lines::Chip& chip = chips[line.chip];
    const std::string& name = chip.lines[line.offset].name;
    const bool label = usable(chip.label) && lines::has_own_label(chips, line.chip);
    const bool named = usable(name) && lines::has_own_name(chip, line.offset);
    return {label ? chip.label : chip.name, named ? name : std::to_string(line.offset)};
}

std::string short_name(const Chips& chips, const PickedLine& line) {
    const std::string& name = chips[line.chip].lines[line.offset].name;
    if (usable(name) && lines_named(chips, name).size() == 1) {
        return name;
    }
    const lines::LineName where = config_name(chips, line);
    return where.chip + ":" + where.line;
}

std::string long_name(const Chips& chips, const PickedLine& line) {
    const lines::Chip& chip = chips[line.chip];
    const std::string& name = chip.lines[line.offset].name;
    const std::string place = "line " + std::to_string(line.offset) + " of " + lines::text_of(chip);
    return safe(name.empty() ? place : name + " (" + place + ")");
}

}  // namespace nightlatch::tool
