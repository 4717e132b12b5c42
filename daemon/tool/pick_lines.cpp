// SPDX-License-Identifier: MIT
#include "daemon/tool/pick_lines.hpp"

#include "config/diagnostic.hpp"
#include "daemon/gpio/naming.hpp"

#include <algorithm>

namespace nightlatch::tool {
namespace {

gpio::ChipFacts facts_of(const audit::Chip& chip) {
    return {chip.name, chip.label, chip.lines.size()};
}

bool all_digits(const std::string& text) {
    return !text.empty() && text.find_first_not_of("0123456789") == std::string::npos;
}

/// A name that configurations and command lines may use: not read as an offset or a chip's number,
/// and nothing in it that steers a terminal.
bool usable(const std::string& name) {
    return !name.empty() && config::printable(name) == name && !all_digits(name);
}

std::string all_chips(const Chips& chips) {
    std::string text;
    for (const audit::Chip& chip : chips) {
        text += (text.empty() ? "" : ", ") + config::printable(gpio::text_of(facts_of(chip)));
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
    std::vector<std::string> names;
    for (const audit::ChipLine& one : chips[*index].lines) {
        names.push_back(one.name);
    }
    const auto offset = gpio::pick_line(facts_of(chips[*index]), names, line);
    if (!offset) {
        return Unexpected{config::printable(offset.error().text)};
    }
    return PickedLine{*index, *offset};
}

/// A label is only that where the kernel's names cannot be meant by it.
bool label_is_unique(const Chips& chips, const std::string& label) {
    const auto has_it = [&label](const audit::Chip& chip) { return chip.label == label; };
    return usable(label) && !gpio::device_of("", label) &&
           std::count_if(chips.begin(), chips.end(), has_it) == 1;
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
    const std::string name = text.substr(text.rfind('/') + 1);
    std::vector<std::size_t> labelled;
    for (std::size_t i = 0; i < chips.size(); ++i) {
        if (chips[i].name == name) {
            return i;
        }
        if (chips[i].label == text) {
            labelled.push_back(i);
        }
    }
    if (labelled.size() == 1) {
        return labelled.front();
    }
    if (labelled.empty()) {
        return Unexpected{"no GPIO chip " + config::in_quotes(text) + ": " + all_chips(chips)};
    }
    return Unexpected{std::to_string(labelled.size()) + " chips are labelled " +
                      config::in_quotes(text) + ": give a name instead, " + all_chips(chips)};
}

Result<PickedLine, std::string> pick_line(const Chips& chips,
                                          const std::string& text,
                                          const std::optional<std::string>& chip) {
    if (chip) {
        return pick_on(chips, *chip, text);
    }
    if (all_digits(text)) {
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
        return Unexpected{std::to_string(named.size()) + " lines are named " +
                          config::in_quotes(text) + ": say which, " + choices};
    }
    const std::size_t colon = text.rfind(':');
    if (colon == std::string::npos) {
        return Unexpected{"no line is named " + config::in_quotes(text) +
                          ": nightlatch lines --all shows those that there are"};
    }
    return pick_on(chips, text.substr(0, colon), text.substr(colon + 1));
}

config::LineName config_name(const Chips& chips, const PickedLine& line) {
    const audit::Chip& chip = chips[line.chip];
    const std::string& name = chip.lines[line.offset].name;
    const auto has_it = [&name](const audit::ChipLine& one) { return one.name == name; };
    const bool unique = std::count_if(chip.lines.begin(), chip.lines.end(), has_it) == 1;
    return {label_is_unique(chips, chip.label) ? chip.label : chip.name,
            usable(name) && unique ? name : std::to_string(line.offset)};
}

std::string short_name(const Chips& chips, const PickedLine& line) {
    const std::string& name = chips[line.chip].lines[line.offset].name;
    if (usable(name) && lines_named(chips, name).size() == 1) {
        return name;
    }
    const config::LineName where = config_name(chips, line);
    return where.chip + ":" + where.line;
}

std::string long_name(const Chips& chips, const PickedLine& line) {
    const audit::Chip& chip = chips[line.chip];
    const std::string& name = chip.lines[line.offset].name;
    const std::string place =
        "line " + std::to_string(line.offset) + " of " + gpio::text_of(facts_of(chip));
    return config::printable(name.empty() ? place : name + " (" + place + ")");
}

}  // namespace nightlatch::tool
