// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"
#include "lines/chip.hpp"

#include <optional>
#include <string>
#include <vector>

namespace nightlatch::tool {

using Chips = std::vector<lines::Chip>;

/// A line of chips[chip].
struct PickedLine {
    std::size_t chip = 0;
    unsigned offset = 0;

    bool operator==(const PickedLine&) const = default;
};

/// All lines of all chips, in order.
std::vector<PickedLine> every_line(const Chips& chips);

/// The chip that is meant (lines::find_chip); else a sentence.
Result<std::size_t, std::string> pick_chip(const Chips& chips, const std::string& text);

/// The line that a person means: NAME or CHIP:LINE, or with `chip` a name or an offset on that one.
/// A name counts before a colon in it. Else a sentence with what to say instead.
Result<PickedLine, std::string> pick_line(const Chips& chips,
                                          const std::string& text,
                                          const std::optional<std::string>& chip = std::nullopt);

/// How a configuration best names the line: the label where one chip alone has it, the line's name
/// where one line of the chip alone has it; else the kernel's name and the offset.
lines::LineName config_name(const Chips& chips, const PickedLine& line);

/// The shortest that pick_line() reads back as this line.
std::string short_name(const Chips& chips, const PickedLine& line);

/// "FRONT_BUTTON (line 1 of gpiochip0 [soc-gpio])"; printable characters only.
std::string long_name(const Chips& chips, const PickedLine& line);

}  // namespace nightlatch::tool
