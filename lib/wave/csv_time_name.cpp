// SPDX-License-Identifier: MIT
#include "wave/csv_time_name.hpp"

#include <algorithm>
#include <array>
#include <string>
#include <vector>

namespace nightlatch::wave {
namespace {

struct TimeUnit {
    std::string_view name;
    std::string_view whole;
    int exponent;
};

constexpr std::array time_units{TimeUnit{"s", "seconds", 9},
                                TimeUnit{"sec", "second", 9},
                                TimeUnit{"ms", "milliseconds", 6},
                                TimeUnit{"us", "microseconds", 3},
                                TimeUnit{"ns", "nanoseconds", 0},
                                TimeUnit{"ps", "picoseconds", -3},
                                TimeUnit{"fs", "femtoseconds", -6}};

bool is_letter_or_digit(char c) {
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
}

/// Small letters; the micro sign, in its two places of Unicode and in Latin-1, is a u.
std::string plain(std::string_view name) {
    std::string text;
    text.reserve(name.size());
    for (const char c : name) {
        if (c >= 'A' && c <= 'Z') {
            text += static_cast<char>(c - 'A' + 'a');
        } else if (c == '\xB5' || c == '\xBC') {
            text += 'u';
        } else if (c != '\xC2' && c != '\xCE') {
            text += c;
        }
    }
    return text;
}

std::vector<std::string_view> words_of(std::string_view text) {
    std::vector<std::string_view> words;
    std::size_t start = 0;
    while (start < text.size()) {
        std::size_t end = start;
        while (end < text.size() && is_letter_or_digit(text[end])) {
            ++end;
        }
        if (end > start) {
            words.push_back(text.substr(start, end - start));
        }
        start = end + 1;
    }
    return words;
}

bool is_whole_unit(std::string_view word) {
    return std::any_of(time_units.begin(), time_units.end(), [&](const TimeUnit& unit) {
        return unit.whole == word;
    });
}

std::optional<int> exponent_of(std::string_view word) {
    for (const TimeUnit& unit : time_units) {
        if (unit.name == word || unit.whole == word) {
            return unit.exponent;
        }
    }
    return std::nullopt;
}

}  // namespace

CsvTimeName csv_time_name(std::string_view name) {
    constexpr std::size_t longest = 200;  // what is longer is not a name
    const std::string text = plain(name.substr(0, longest));
    const std::vector<std::string_view> words = words_of(text);
    if (words.empty()) {
        return {false, 9};
    }
    CsvTimeName said;
    said.is_time =
        words.front() == "t" || words.front().starts_with("time") || is_whole_unit(words.front());
    said.exponent = exponent_of(words.back());
    const bool in_brackets = text.ends_with(')') || text.ends_with(']');
    if (!said.exponent && !in_brackets) {
        said.exponent = 9;
    }
    return said;
}

std::optional<int> csv_time_unit(std::string_view text) {
    constexpr std::size_t longest = 20;
    return exponent_of(plain(text.substr(0, longest)));
}

}  // namespace nightlatch::wave
