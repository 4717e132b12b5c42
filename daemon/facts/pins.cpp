// SPDX-License-Identifier: MIT
#include "daemon/facts/pins.hpp"

#include "daemon/facts/files.hpp"

#include <algorithm>
#include <charconv>

namespace nightlatch::facts {
namespace {

constexpr const char* controllers = "/sys/kernel/debug/pinctrl";
constexpr const char* chips_list = "/sys/kernel/debug/gpio";
constexpr const char* chips_class = "/sys/class/gpio";
constexpr std::size_t most_pins_bytes = std::size_t{4} << 20U;

/// Takes a number off the front.
std::optional<unsigned> take_number(std::string_view& text) {
    unsigned number = 0;
    const auto [stopped, error] = std::from_chars(text.data(), text.data() + text.size(), number);
    if (error != std::errc{}) {
        return std::nullopt;
    }
    text.remove_prefix(static_cast<std::size_t>(stopped - text.data()));
    return number;
}

bool take(std::string_view& text, std::string_view what) {
    if (!text.starts_with(what)) {
        return false;
    }
    text.remove_prefix(what.size());
    return true;
}

/// A name, or the words in brackets that stand for none.
std::string take_owner(std::string_view& text, std::string_view none) {
    if (take(text, none)) {
        take(text, " ");
        return {};
    }
    const std::size_t end = std::min(text.find(' '), text.size());
    std::string owner(text.substr(0, end));
    text.remove_prefix(std::min(end + 1, text.size()));
    return owner;
}

/// " function F group G" at the end, when the pin is muxed.
std::string take_function(std::string_view& text) {
    constexpr std::string_view word = " function ";
    const std::size_t at = text.rfind(word);
    if (at == std::string_view::npos) {
        return {};
    }
    const std::string_view rest = text.substr(at + word.size());
    text = text.substr(0, at);
    return std::string(rest.substr(0, rest.find(" group ")));
}

/// "pin 6 (gpio6): fe200000.gpio (GPIO UNCLAIMED) function gpio_in group gpio6", or of a strict
/// controller "pin 6 (gpio6): GPIO soc-gpio:518".
std::optional<lines::Pin> pin_in(std::string_view line, bool strict) {
    lines::Pin pin;
    if (!take(line, "pin ")) {
        return std::nullopt;
    }
    const auto number = take_number(line);
    if (!number || !take(line, " (")) {
        return std::nullopt;
    }
    pin.pin = *number;
    const std::size_t name_end = line.find("): ");
    if (name_end == std::string_view::npos) {
        return std::nullopt;
    }
    pin.name = line.substr(0, name_end);
    line.remove_prefix(name_end + 3);
    pin.function = take_function(line);
    if (!strict) {
        pin.mux_owner = take_owner(line, "(MUX UNCLAIMED)");
        pin.gpio_owner = take_owner(line, "(GPIO UNCLAIMED)");
    } else if (take(line, "device ")) {
        pin.mux_owner = take_owner(line, "UNCLAIMED");
    } else if (take(line, "GPIO ")) {
        pin.gpio_owner = take_owner(line, "UNCLAIMED");
    }
    return pin;
}

/// "[512 - 565]".
std::optional<std::pair<unsigned, unsigned>> take_span(std::string_view& text) {
    take(text, "[");
    const auto first = take_number(text);
    if (!first || !take(text, " - ")) {
        return std::nullopt;
    }
    const auto last = take_number(text);
    if (!last || *last < *first || !take(text, "]")) {
        return std::nullopt;
    }
    return std::pair{*first, *last};
}

/// "PINS [0 - 53]", or each pin by itself: "PINS {4, 5, 9}".
void add_pins(std::vector<lines::PinRange>& ranges, lines::PinRange range, std::string_view text) {
    if (take(text, " PINS [")) {
        if (const auto pin = take_number(text)) {
            range.first_pin = *pin;
            ranges.push_back(std::move(range));
        }
        return;
    }
    if (!take(text, " PINS {")) {
        return;
    }
    const unsigned count = std::exchange(range.count, 1);
    for (unsigned i = 0; i < count; ++i, ++range.first_line) {
        const auto pin = take_number(text);
        if (!pin) {
            return;
        }
        take(text, ", ");
        range.first_pin = *pin;
        ranges.push_back(range);
    }
}

const ChipNumbers* chip_with(const std::vector<ChipNumbers>& chips,
                             std::string_view label,
                             const std::pair<unsigned, unsigned>& span) {
    const auto found = std::find_if(chips.begin(), chips.end(), [&](const ChipNumbers& chip) {
        return chip.label == label && span.first >= chip.first &&
               span.second - chip.first < chip.count;
    });
    return found == chips.end() ? nullptr : &*found;
}

std::optional<ChipNumbers> numbers_of(const std::string& root, const std::string& folder) {
    const Read<std::string> label = read_value(root, folder + "/label");
    const Read<long long> first = read_number(root, folder + "/base");
    const Read<long long> count = read_number(root, folder + "/ngpio");
    if (!label || !first || !count || *first < 0 || *count <= 0) {
        return std::nullopt;
    }
    return ChipNumbers{*label, static_cast<unsigned>(*first), static_cast<unsigned>(*count)};
}

/// By the older interface for lines, which says the same where it is built in [linux
/// Documentation/ABI/obsolete/sysfs-gpio]; else by debugfs's list.
std::vector<ChipNumbers> read_chip_numbers(const std::string& root) {
    std::vector<ChipNumbers> chips;
    const Read<std::vector<std::string>> names = names_in(root, chips_class);
    for (const std::string& name : names ? *names : std::vector<std::string>{}) {
        if (auto numbers = numbers_of(root, std::string(chips_class) + "/" + name)) {
            chips.push_back(std::move(*numbers));
        }
    }
    const Read<std::string> text = read_file(root, chips_list);
    return chips.empty() && text ? chip_numbers(*text) : chips;
}

}  // namespace

std::vector<lines::Pin> pins_of(const std::string& controller, std::string_view text) {
    std::vector<lines::Pin> pins;
    bool strict = false;
    for (const std::string& line : lines_of(text)) {
        strict = strict || (line.starts_with("Format:") && line.find("(strict)") != line.npos);
        if (auto pin = pin_in(line, strict)) {
            pin->controller = controller;
            pins.push_back(std::move(*pin));
        }
    }
    return pins;
}

std::vector<ChipNumbers> chip_numbers(std::string_view text) {
    std::vector<ChipNumbers> chips;
    for (const std::string& whole : lines_of(text)) {
        const std::size_t at = whole.find(": GPIOs ");
        if (!whole.starts_with("gpiochip") || at == std::string::npos) {
            continue;
        }
        std::string_view line = whole;
        line.remove_prefix(at + 8);
        const auto first = take_number(line);
        const auto last = first && take(line, "-") ? take_number(line) : std::nullopt;
        if (!last || *last < *first || !line.ends_with(':')) {
            continue;
        }
        line.remove_suffix(1);
        constexpr std::string_view sleeps = ", can sleep";
        if (line.ends_with(sleeps)) {
            line.remove_suffix(sleeps.size());
        }
        const std::size_t comma = line.rfind(", ");
        if (comma != std::string_view::npos) {
            chips.push_back({std::string(line.substr(comma + 2)), *first, *last - *first + 1});
        }
    }
    return chips;
}

std::vector<lines::PinRange> ranges_of(const std::string& controller,
                                       std::string_view text,
                                       const std::vector<ChipNumbers>& chips) {
    std::vector<lines::PinRange> ranges;
    for (const std::string& whole : lines_of(text)) {
        std::string_view line = whole;
        if (!take_number(line) || !take(line, ": ")) {
            continue;
        }
        constexpr std::string_view word = " GPIOS ";
        const std::size_t label_end = std::min(line.rfind(word), line.size());
        const std::string_view label = line.substr(0, label_end);
        line.remove_prefix(std::min(label_end + word.size(), line.size()));
        const auto span = take_span(line);
        const ChipNumbers* chip = span ? chip_with(chips, label, *span) : nullptr;
        if (chip == nullptr) {
            continue;
        }
        lines::PinRange range;
        range.controller = controller;
        range.chip = label;
        range.first_line = span->first - chip->first;
        range.count = span->second - span->first + 1;
        add_pins(ranges, std::move(range), line);
    }
    return ranges;
}

Known<lines::Pins> read_pins(const std::string& root) {
    const Read<std::vector<std::string>> names = names_in(root, controllers);
    if (!names) {
        return Known<lines::Pins>::missing(
            "pinctrl's view (run as root, with debugfs mounted: " + std::string(controllers) + ")");
    }
    const std::vector<ChipNumbers> chips = read_chip_numbers(root);
    lines::Pins pins;
    for (const std::string& name : *names) {
        const std::string folder = std::string(controllers) + "/" + name;
        if (const auto text = read_file(root, folder + "/pinmux-pins", most_pins_bytes)) {
            const std::vector<lines::Pin> more = pins_of(name, *text);
            pins.pins.insert(pins.pins.end(), more.begin(), more.end());
        }
        if (const auto text = read_file(root, folder + "/gpio-ranges")) {
            const std::vector<lines::PinRange> more = ranges_of(name, *text, chips);
            pins.ranges.insert(pins.ranges.end(), more.begin(), more.end());
        }
    }
    return pins;
}

}  // namespace nightlatch::facts
