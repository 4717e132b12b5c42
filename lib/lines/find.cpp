// SPDX-License-Identifier: MIT
#include "lines/find.hpp"

#include "base/text.hpp"

#include <algorithm>
#include <limits>

namespace nightlatch::lines {
namespace {

/// "gpiochip0".
bool is_kernel_name(std::string_view text) noexcept {
    constexpr std::string_view prefix = "gpiochip";
    return text.starts_with(prefix) && all_digits(text.substr(prefix.size()));
}

/// Without the parts of a path that lead nowhere: "//" and "/./". ".." stays, since behind a link
/// it is another folder than it looks.
std::string without_empty_parts(std::string_view path) {
    std::string text;
    while (!path.empty()) {
        if (path.starts_with("//")) {
            path.remove_prefix(1);
        } else if (path.starts_with("/./")) {
            path.remove_prefix(2);
        } else {
            text += path.front();
            path.remove_prefix(1);
        }
    }
    return text;
}

bool is_device(const Chip& chip, std::string_view text) {
    const std::string_view folder =
        std::string_view(chip.path).substr(0, std::min(chip.path.rfind('/'), chip.path.size()));
    const std::optional<std::string> device = device_named(folder, text);
    return device &&
           (*device == chip.path ||
            std::find(chip.aliases.begin(), chip.aliases.end(), *device) != chip.aliases.end());
}

/// "/soc/gpio@7e200000": the device tree's own name for the chip, the same on every kernel.
bool is_node_path(std::string_view text, const Chip& chip) {
    return text.starts_with('/') && chip.node == text;
}

/// What the lines are called, for somebody who wrote another name.
std::string some_names(const Chip& chip) {
    constexpr std::size_t shown = 8;
    std::string text;
    std::size_t count = 0;
    for (const Line& line : chip.lines) {
        if (!line.name.empty() && count++ < shown) {
            text += (count == 1 ? "" : ", ") + safe(line.name);
        }
    }
    if (count == 0) {
        return "its lines have no names, so give an offset";
    }
    return "it has " + text +
           (count > shown ? " and " + std::to_string(count - shown) + " more" : "");
}

std::string listed(const std::vector<std::size_t>& offsets) {
    std::string text;
    for (const std::size_t offset : offsets) {
        text += (text.empty() ? "" : ", ") + std::to_string(offset);
    }
    return text;
}

}  // namespace

std::string text_of(const Chip& chip) {
    return safe(chip.name + " [" + chip.label + "]");
}

std::optional<std::string> device_named(std::string_view folder, std::string_view chip) {
    if (chip.find('/') != std::string_view::npos) {
        return without_empty_parts(chip);
    }
    if (is_kernel_name(chip)) {
        return std::string(folder) + "/" + std::string(chip);
    }
    return std::nullopt;
}

bool by_number(std::string_view chip) noexcept {
    return is_kernel_name(chip.substr(chip.rfind('/') + 1));
}

std::optional<unsigned> offset_in(std::string_view line) noexcept {
    if (!all_digits(line)) {
        return std::nullopt;
    }
    return number_in(line).value_or(std::numeric_limits<unsigned>::max());
}

Result<std::size_t, NotOne> find_chip(std::span<const Chip> chips, std::string_view text) {
    const auto device = std::find_if(
        chips.begin(), chips.end(), [&](const Chip& chip) { return is_device(chip, text); });
    if (device != chips.end()) {
        return static_cast<std::size_t>(device - chips.begin());
    }
    std::vector<std::size_t> labelled;
    for (std::size_t i = 0; i < chips.size(); ++i) {
        if (chips[i].label == text || is_node_path(text, chips[i])) {
            labelled.push_back(i);
        }
    }
    if (labelled.empty()) {
        return Unexpected{NotOne{Why::no_chip, {}}};
    }
    if (labelled.size() > 1) {
        return Unexpected{NotOne{Why::several_chips, std::move(labelled)}};
    }
    return labelled.front();
}

Result<unsigned, NotOne> find_line(const Chip& chip, std::string_view text) {
    if (const std::optional<unsigned> offset = offset_in(text)) {
        if (*offset < chip.lines.size()) {
            return *offset;
        }
        return Unexpected{NotOne{Why::no_offset, {}}};
    }
    std::vector<std::size_t> named;
    for (std::size_t offset = 0; offset < chip.lines.size(); ++offset) {
        if (!text.empty() && chip.lines[offset].name == text) {
            named.push_back(offset);
        }
    }
    if (named.empty()) {
        return Unexpected{NotOne{Why::no_name, {}}};
    }
    // The kernel does not make line names unique [linux include/uapi/linux/gpio.h].
    if (named.size() > 1) {
        return Unexpected{NotOne{Why::several_lines, std::move(named)}};
    }
    return static_cast<unsigned>(named.front());
}

std::string why_no_line(const Chip& chip, std::string_view text, const NotOne& not_one) {
    if (not_one.why == Why::several_lines) {
        return std::to_string(not_one.candidates.size()) + " lines of " + text_of(chip) +
               " are named " + in_quotes(text, uncut) + ": give one of the offsets " +
               listed(not_one.candidates) + " instead";
    }
    if (not_one.why == Why::no_offset) {
        return text_of(chip) + " has no line " + std::string(text) + ": its " +
               std::to_string(chip.lines.size()) + " lines are numbered from 0";
    }
    return text_of(chip) + " has no line named " + in_quotes(text, uncut) + ": " + some_names(chip);
}

bool has_own_label(std::span<const Chip> chips, std::size_t chip) {
    const std::string& label = chips[chip].label;
    const auto found = find_chip(chips, label);
    return !label.empty() && !device_named("", label) && found && *found == chip;
}

bool has_own_name(const Chip& chip, unsigned offset) {
    const auto found = find_line(chip, chip.lines[offset].name);
    return found && *found == offset;
}

bool surely_same_chip(std::string_view one, std::string_view other) {
    return one == other ||
           (by_number(one) && device_named("/dev", one) == device_named("/dev", other));
}

}  // namespace nightlatch::lines
