// SPDX-License-Identifier: MIT
#include "config/read_value.hpp"

#include "base/text.hpp"
#include "config/pattern_text.hpp"

#include <charconv>
#include <utility>

namespace nightlatch::config {
namespace {

/// A chip has as many lines as 16 bits can count [include/linux/gpio/driver.h, gpio_chip.ngpio].
constexpr std::int64_t highest_offset = 65'534;
constexpr std::size_t longest_path = 255;

std::optional<KeyValue> read_chip(const Key& key,
                                  const Value& value,
                                  const std::string& name,
                                  Reader& reader) {
    const auto* text = std::get_if<std::string>(&value.data);
    const bool path = text != nullptr && text->starts_with('/');
    return reader.name_in(value, name, path ? longest_path : key.longest);
}

/// An offset, as a number or in digits, comes back in plain digits; a name as it is.
std::optional<KeyValue> read_line(const Key& key,
                                  const Value& value,
                                  const std::string& name,
                                  Reader& reader) {
    std::int64_t offset = 0;
    if (const auto* number = std::get_if<std::int64_t>(&value.data)) {
        offset = *number;
    } else if (!std::holds_alternative<std::string>(value.data)) {
        reader.error(value.place,
                     name,
                     "is " + std::string(kind_of(value)) +
                         "; expected the line's name in double quotes, or its offset as a number");
        return std::nullopt;
    } else {
        const auto text = reader.name_in(value, name, key.longest);
        if (!text || !all_digits(*text)) {
            return text;
        }
        const char* end = text->data() + text->size();
        if (std::from_chars(text->data(), end, offset).ec != std::errc{}) {
            offset = highest_offset + 1;
        }
    }
    if (offset < 0 || offset > highest_offset) {
        reader.error(value.place, name, "an offset is 0 to 65534; chips have no more lines");
        return std::nullopt;
    }
    return std::to_string(offset);
}

std::optional<KeyValue> read_led(const Key& key,
                                 const Value& value,
                                 const std::string& name,
                                 Reader& reader) {
    const auto led = reader.name_in(value, name, key.longest);
    // It becomes the name of a folder under /sys/class/leds.
    if (led && (led->find('/') != std::string::npos || *led == "." || *led == "..")) {
        reader.error(value.place,
                     name,
                     in_quotes(*led) +
                         " is not an LED's name; expected one that is in /sys/class/leds");
        return std::nullopt;
    }
    return led;
}

/// Why a text is not a path as Kind::path has it; nothing when it is one.
std::optional<std::string> why_no_path(std::string_view text) {
    if (!text.starts_with('/')) {
        return "is not absolute; expected a path that begins with /";
    }
    if (text.ends_with('/')) {
        return "ends in no file name";
    }
    if (text.find_first_of(" \"'\\%") != std::string_view::npos) {
        return "has a blank, a quote, a backslash or % in it, which units cannot name as it is";
    }
    std::size_t parts = 0;
    for (std::string_view left = text; !left.empty(); ++parts) {
        left.remove_prefix(1);
        const std::string_view part = left.substr(0, left.find('/'));
        if (part.empty() || part == "." || part == "..") {
            return "has an empty part, . or .. in it; expected the path as it is without";
        }
        left.remove_prefix(part.size());
    }
    return parts > 1
               ? std::nullopt
               : std::optional<std::string>("is in /; expected a file in a folder of its own");
}

std::optional<KeyValue> read_path(const Key& key,
                                  const Value& value,
                                  const std::string& name,
                                  Reader& reader) {
    const auto path = reader.name_in(value, name, key.longest);
    if (const auto why = path ? why_no_path(*path) : std::nullopt) {
        reader.error(value.place, name, in_quotes(*path) + " " + *why);
        return std::nullopt;
    }
    return path;
}

std::optional<KeyValue> read_count(const Key& key,
                                   const Value& value,
                                   const std::string& name,
                                   Reader& reader) {
    const auto* number = std::get_if<std::int64_t>(&value.data);
    if (number == nullptr) {
        reader.error(value.place,
                     name,
                     "is " + std::string(kind_of(value)) + "; expected a number without quotes, " +
                         to_text(key.counts));
        return std::nullopt;
    }
    if (std::cmp_less(*number, key.counts.least) || std::cmp_greater(*number, key.counts.most)) {
        reader.error(value.place,
                     name,
                     std::to_string(*number) + " is out of range; allowed: " + to_text(key.counts));
        return std::nullopt;
    }
    return static_cast<std::size_t>(*number);
}

std::optional<KeyValue> read_pattern(const Key& key,
                                     const Value& value,
                                     const std::string& name,
                                     Reader& reader) {
    const std::string* text = reader.text_in(
        value,
        name,
        key.by_stage.set == nullptr
            ? "a pattern in double quotes"
            : R"(a pattern in double quotes, or one for each stage: { off = "on" })");
    if (text == nullptr) {
        return std::nullopt;
    }
    const auto pattern = parse_pattern(*text);
    if (!pattern) {
        reader.error(value.place, name, in_quotes(*text) + " " + pattern.error());
        return std::nullopt;
    }
    return *pattern;
}

}  // namespace

std::optional<KeyValue> read_value(const Key& key,
                                   const Value& value,
                                   const std::string& name,
                                   Reader& reader) {
    switch (key.kind) {
    case Kind::chip:
        return read_chip(key, value, name, reader);
    case Kind::line:
        return read_line(key, value, name, reader);
    case Kind::name:
        return reader.name_in(value, name, key.longest);
    case Kind::led:
        return read_led(key, value, name, reader);
    case Kind::path:
        return read_path(key, value, name, reader);
    case Kind::count:
        return read_count(key, value, name, reader);
    case Kind::duration: {
        const auto duration = reader.duration_in(value, name, key.range);
        return duration ? std::optional<KeyValue>(duration->value) : std::nullopt;
    }
    case Kind::word: {
        const auto word = reader.word_in(value, name, key.words);
        return word ? std::optional<KeyValue>(std::string(key.words[*word])) : std::nullopt;
    }
    case Kind::pattern:
        return read_pattern(key, value, name, reader);
    }
    return std::nullopt;
}

std::string remedy_for_missing(const Key& key) {
    switch (key.kind) {
    case Kind::line:
        return "; its name, or its offset as a number, must be given";
    case Kind::duration:
        return "; allowed: " + to_text(key.range);
    case Kind::count:
        return "; allowed: " + to_text(key.counts);
    case Kind::word:
        return allowed_text("", key.words);
    case Kind::chip:
    case Kind::name:
    case Kind::led:
    case Kind::path:
    case Kind::pattern:
        return "; it must be given";
    }
    return {};
}

}  // namespace nightlatch::config
