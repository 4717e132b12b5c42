// SPDX-License-Identifier: MIT
#include "base/text.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cstdio>

namespace nightlatch {
namespace {

constexpr std::string_view ellipsis = "\xE2\x80\xA6";

/// How many bytes a character has that begins with this one; 0 when none does.
std::size_t length_of(unsigned char first) noexcept {
    if (first < 0x80) {
        return 1;
    }
    if (first >= 0xC2 && first < 0xE0) {
        return 2;
    }
    if (first >= 0xE0 && first < 0xF0) {
        return 3;
    }
    return first >= 0xF0 && first < 0xF5 ? 4 : 0;
}

/// C0, DEL and C1 [ECMA-48, 5th edition, section 5.2 and 5.3; DEL: ECMA-6]. A terminal obeys them,
/// C1 also as one character of UTF-8.
bool is_control(char32_t code) noexcept {
    return code < 0x20 || (code >= 0x7F && code < 0xA0);
}

/// The characters of the property Bidi_Control [Unicode Standard Annex #9, section 2; PropList.txt
/// of the Unicode Character Database].
bool is_bidi_control(char32_t code) noexcept {
    return code == 0x061C || code == 0x200E || code == 0x200F ||
           (code >= 0x202A && code <= 0x202E) || (code >= 0x2066 && code <= 0x2069);
}

/// LINE SEPARATOR and PARAGRAPH SEPARATOR [Unicode Standard, section 5.8].
bool is_separator(char32_t code) noexcept {
    return code == 0x2028 || code == 0x2029;
}

/// The last two of each plane, which no text is to have [Unicode Standard, section 23.7], nor a
/// document of XML 1.0 those of the first [section 2.2].
bool is_noncharacter(char32_t code) noexcept {
    return (code & 0xFFFEU) == 0xFFFE;
}

bool may_stand(const Character& character) noexcept {
    const char32_t code = character.code;
    return character.valid && !is_control(code) && !is_bidi_control(code) && !is_separator(code) &&
           !is_noncharacter(code);
}

std::string escape(const Character& character, char byte) {
    std::array<char, 12> text{};
    const auto code = static_cast<unsigned long>(character.code);
    if (!character.valid) {
        const unsigned value = static_cast<unsigned char>(byte);
        std::snprintf(text.data(), text.size(), "\\x%02X", value);
    } else if (code > 0xFFFF) {
        std::snprintf(text.data(), text.size(), "\\U%08lX", code);
    } else {
        std::snprintf(text.data(), text.size(), "\\u%04lX", code);
    }
    return text.data();
}

/// True when `wanted` holds of a character of the text.
template <class Wanted>
bool any_character(std::string_view text, Wanted wanted) noexcept {
    while (!text.empty()) {
        const Character character = first_character(text);
        if (wanted(character)) {
            return true;
        }
        text.remove_prefix(character.length);
    }
    return false;
}

}  // namespace

Character first_character(std::string_view text) noexcept {
    constexpr std::array<char32_t, 5> least{0, 0, 0x80, 0x800, 0x10000};
    constexpr std::array<unsigned, 5> mask{0, 0x7F, 0x1F, 0x0F, 0x07};
    const auto first = static_cast<unsigned char>(text.front());
    const std::size_t length = length_of(first);
    if (length == 0 || length > text.size()) {
        return {};
    }
    char32_t code = first & mask[length];
    for (std::size_t i = 1; i < length; ++i) {
        const auto byte = static_cast<unsigned char>(text[i]);
        if ((byte & 0xC0U) != 0x80) {
            return {};
        }
        code = (code << 6U) | (byte & 0x3FU);
    }
    if (code < least[length] || code > 0x10FFFF || (code >= 0xD800 && code < 0xE000)) {
        return {};
    }
    return {code, length, true};
}

std::string safe(std::string_view foreign) {
    std::string text;
    text.reserve(foreign.size());
    while (!foreign.empty()) {
        const Character character = first_character(foreign);
        if (may_stand(character)) {
            text += foreign.substr(0, character.length);
        } else {
            text += escape(character, foreign.front());
        }
        foreign.remove_prefix(character.length);
    }
    return text;
}

std::string safe_lines(std::string_view foreign) {
    std::string text;
    for (;;) {
        const std::size_t end = foreign.find('\n');
        const std::string_view line = foreign.substr(0, end);
        const std::size_t tabs = std::min(line.find_first_not_of('\t'), line.size());
        text += std::string(line.substr(0, tabs)) + safe(line.substr(tabs));
        if (end == std::string_view::npos) {
            return text;
        }
        text += '\n';
        foreign.remove_prefix(end + 1);
    }
}

std::string shortened(std::string_view foreign, std::size_t most) {
    if (foreign.size() <= most) {
        return safe(foreign);
    }
    std::size_t end = 0;
    for (std::size_t next = 0; next <= most; next += first_character(foreign.substr(next)).length) {
        end = next;
    }
    return safe(foreign.substr(0, end)) + std::string(ellipsis);
}

std::string in_quotes(std::string_view foreign, std::size_t most) {
    return "\"" + shortened(foreign, most) + "\"";
}

bool is_safe(std::string_view text) noexcept {
    return !any_character(text, [](const Character& one) { return !may_stand(one); });
}

bool has_controls(std::string_view text) noexcept {
    return any_character(text,
                         [](const Character& one) { return one.valid && is_control(one.code); });
}

std::string_view trimmed(std::string_view text, std::string_view blanks) noexcept {
    text.remove_prefix(std::min(text.find_first_not_of(blanks), text.size()));
    return text.substr(0, text.find_last_not_of(blanks) + 1);  // npos + 1 is 0
}

bool is_digit(char c) noexcept {
    return c >= '0' && c <= '9';
}

bool all_digits(std::string_view text) noexcept {
    return !text.empty() && std::all_of(text.begin(), text.end(), is_digit);
}

bool same_but_for_case(std::string_view a, std::string_view b) noexcept {
    const auto small = [](char c) {
        return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    };
    return std::equal(a.begin(), a.end(), b.begin(), b.end(), [small](char one, char other) {
        return small(one) == small(other);
    });
}

std::optional<unsigned> number_in(std::string_view text, unsigned most) noexcept {
    unsigned number = 0;
    const char* const end = text.data() + text.size();
    const auto [stopped, error] = std::from_chars(text.data(), end, number);
    const bool good = error == std::errc{} && stopped == end && number <= most;
    return good ? std::optional(number) : std::nullopt;
}

std::string counted(std::uint64_t count) {
    std::string text = std::to_string(count);
    for (std::size_t place = text.size(); place > 3;) {
        place -= 3;
        text.insert(place, ",");
    }
    return text;
}

std::string counted(std::uint64_t count, std::string_view one, std::string_view more) {
    return counted(count) + " " + std::string(count == 1 ? one : more);
}

std::string counted(std::uint64_t count, std::string_view one) {
    return counted(count, one, std::string(one) + "s");
}

}  // namespace nightlatch
