// SPDX-License-Identifier: MIT
#include "config/syntax.hpp"

#include "base/text.hpp"

#include <algorithm>
#include <array>
#include <string>

namespace nightlatch::config {
namespace {

constexpr std::string_view texts_need_quotes = "texts and durations go in double quotes: \"3 s\"";

/// Where so many bytes are over.
Place place_after(std::string_view bytes) {
    Place place;
    while (!bytes.empty()) {
        const bool ends_line = bytes.front() == '\n';
        place.line += ends_line ? 1 : 0;
        place.column = ends_line ? 1 : place.column + 1;
        bytes.remove_prefix(first_character(bytes).length);
    }
    return place;
}

Diagnostic syntax(Place place, std::string text) {
    return {Severity::error, place, "syntax", std::move(text)};
}

std::string byte_text(char c) {
    constexpr std::string_view digits = "0123456789ABCDEF";
    const auto byte = static_cast<unsigned char>(c);
    return std::string("0x") + digits[byte >> 4U] + digits[byte & 15U];
}

std::string_view line_at(std::string_view text, unsigned number) {
    for (; number > 1 && text.find('\n') != std::string_view::npos; --number) {
        text.remove_prefix(text.find('\n') + 1);
    }
    return text.substr(0, text.find('\n'));
}

/// "line" from `line = "FRONT_BUTTON"`; "" for another line.
std::string_view key_in(std::string_view line) {
    const std::size_t equals = line.find('=');
    return equals == std::string_view::npos ? "" : trimmed(line.substr(0, equals));
}

bool is_header(std::string_view line) {
    return trimmed(line).starts_with('[');
}

/// The line before `number` that has the same header, or in the same section the same key; 0 for
/// none.
unsigned line_of_first(std::string_view text, unsigned number) {
    const std::string_view wanted = line_at(text, number);
    unsigned found = 0;
    for (unsigned line = 1; line < number; ++line) {
        const std::string_view here = line_at(text, line);
        if (is_header(wanted)) {
            found = found == 0 && trimmed(here) == trimmed(wanted) ? line : found;
        } else if (is_header(here)) {
            found = 0;
        } else if (key_in(here) == key_in(wanted)) {
            found = found == 0 ? line : found;
        }
    }
    return found;
}

/// The column of a quote that the line does not close; 0 for none.
unsigned unclosed_quote(std::string_view line) {
    char open = 0;
    unsigned since = 0;
    unsigned column = 0;
    bool is_escaped = false;
    while (!line.empty()) {
        const char c = line.front();
        ++column;
        if (open == 0 && c == '#') {
            return 0;
        }
        if (open == 0 && (c == '"' || c == '\'')) {
            open = c;
            since = column;
        } else if (open != 0 && c == open && !is_escaped) {
            open = 0;
        }
        is_escaped = open == '"' && c == '\\' && !is_escaped;
        line.remove_prefix(first_character(line).length);
    }
    return open == 0 ? 0 : since;
}

/// Where the value begins in "key = value"; nothing for another line, or without a value.
std::optional<char> first_of_value(std::string_view line) {
    const std::size_t equals = line.find('=');
    const std::size_t value = line.find_first_not_of(" \t\r", std::min(equals, line.size()) + 1);
    return equals == std::string_view::npos || value == std::string_view::npos
               ? std::nullopt
               : std::optional(line[value]);
}

/// The most frequent slip: hold = 3 s, pressed = low.
bool has_bare_value(std::string_view line) {
    const auto first = first_of_value(line);
    return first && std::string_view("\"'[{#").find(*first) == std::string_view::npos;
}

struct Slip {
    std::string_view said;  ///< a part of the library's description
    std::string_view text;
};

/// In this order: the first that fits.
constexpr std::array slips{
    Slip{"end-of-file", "the file ends in the middle of a value or a header"},
    Slip{"expected ']'", "the header is not closed: \"]\" is missing"},
    Slip{"expected '\\n' after '\\r'",
         "a line ends with a lone carriage return: save the file with Unix line ends"},
    Slip{"expected value", "the value is missing after \"=\""},
    Slip{"expected keys", "a key is missing before \"=\""},
    Slip{"unknown escape",
         "a backslash in double quotes begins an escape, and this is not one: write \"\\\\\", or "
         "use single quotes"},
    Slip{"expected '='", "\"=\" is missing after the key: a line is one key, \"=\" and its value"},
    Slip{"expected a comment or whitespace",
         "something stands behind the value: a line is one key, \"=\" and its value"}};

std::string of_first(std::string_view text, unsigned line) {
    const unsigned first = line_of_first(text, line);
    return first == 0 ? "" : "; it was given in line " + std::to_string(first);
}

std::string given_twice(std::string_view text, unsigned line) {
    const std::string_view here = line_at(text, line);
    return is_header(here) ? "the section " + shortened(trimmed(here)) + " stands twice" +
                                 of_first(text, line) + ": put all its keys there"
                           : in_quotes(key_in(here)) + " is given twice" + of_first(text, line);
}

std::string our_words(std::string_view text, Place place, std::string_view said) {
    const std::string_view line = line_at(text, place.line);
    if (said.find("cannot redefine") != std::string_view::npos) {
        return given_twice(text, place.line);
    }
    if (has_bare_value(line)) {
        return "this is not a value; " + std::string(texts_need_quotes);
    }
    const auto slip = std::find_if(slips.begin(), slips.end(), [&](const Slip& one) {
        return said.find(one.said) != std::string_view::npos;
    });
    return slip != slips.end() ? std::string(slip->text) : safe(said);
}

}  // namespace

std::optional<Diagnostic> why_not_text(std::string_view bytes) {
    constexpr std::string_view remedy = "save the file as UTF-8";
    if (bytes.starts_with("\xFF\xFE") || bytes.starts_with("\xFE\xFF")) {
        return syntax({}, "this is UTF-16 text: " + std::string(remedy));
    }
    for (std::string_view left = bytes; !left.empty();) {
        const Character character = first_character(left);
        if (left.front() == '\0') {
            const bool is_wide = bytes.size() > 1 && (bytes[0] == '\0') != (bytes[1] == '\0');
            return syntax(place_after(bytes.substr(0, bytes.size() - left.size())),
                          is_wide ? "this is UTF-16 text: " + std::string(remedy)
                                  : "this is not a text file: it has zero bytes in it");
        }
        if (!character.valid) {
            return syntax(
                place_after(bytes.substr(0, bytes.size() - left.size())),
                "the byte " + byte_text(left.front()) +
                    " is not UTF-8 (an older encoding, such as Latin-1?): " + std::string(remedy));
        }
        left.remove_prefix(character.length);
    }
    return std::nullopt;
}

Diagnostic syntax_error(std::string_view text, Place place, std::string_view said) {
    const std::string_view line = line_at(text, place.line);
    const bool of_lines =
        line.find("\"\"\"") != std::string_view::npos || line.find("'''") != std::string_view::npos;
    if (const unsigned column = of_lines ? 0 : unclosed_quote(line)) {
        return syntax({place.line, column}, "this quote is not closed in the same line");
    }
    return syntax(place, our_words(text, place, said));
}

}  // namespace nightlatch::config
