// SPDX-License-Identifier: MIT
#include "support/hostile.hpp"

#include "base/text.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::test {
namespace {

/// All of Bidi_Control [UAX #9], both separators, and what ends a line for some reader.
constexpr std::array<std::string_view, 18> marks{"\u061C",
                                                 "\u200E",
                                                 "\u200F",
                                                 "\u202A",
                                                 "\u202B",
                                                 "\u202C",
                                                 "\u202D",
                                                 "\u202E",
                                                 "\u2066",
                                                 "\u2067",
                                                 "\u2068",
                                                 "\u2069",
                                                 "\u2028",
                                                 "\u2029",
                                                 "\r\n",
                                                 "\n",
                                                 "\v",
                                                 "\f"};
constexpr std::array<std::string_view, 8> words{
    "tide", "b\u00F6je", "\u20AC", "\U0001F30A", "\"", "\\", "a;b", "<&>"};

}  // namespace

std::string HostileNames::piece(bool bytes) {
    const auto byte = static_cast<char>(dice_.below(256));
    switch (dice_.below(bytes ? 5 : 4)) {
    case 0:
        return std::string(dice_.pick(marks));
    case 1:
        return std::string(dice_.pick(words));
    case 2:  // C0 and DEL
        return {static_cast<char>(dice_.one_in(33) ? 0x7F : dice_.below(32))};
    case 3:  // C1, as a character
        return {'\xC2', static_cast<char>(0x80 + dice_.below(32))};
    default:
        return {byte};
    }
}

std::string HostileNames::next() {
    std::string name = "x";
    for (std::uint64_t left = dice_.below(6); left > 0; --left) {
        name += piece(true);
    }
    return name + "\n" + std::string(forged) + piece(true) + "\x1b[2J\u202E\x9B";
}

std::string HostileNames::next_string() {
    std::string name = next();
    name.erase(std::remove(name.begin(), name.end(), '\0'), name.end());
    return name;
}

std::string HostileNames::next_utf8() {
    std::string name = "x";
    for (std::uint64_t left = dice_.below(6); left > 0; --left) {
        name += piece(false);
    }
    return name + "\n" + std::string(forged) + "\u202E";
}

std::string line_that_steers(std::string_view shown) {
    while (!shown.empty()) {
        const std::size_t end = std::min(shown.find('\n'), shown.size());
        std::string_view line = shown.substr(0, end);
        shown.remove_prefix(std::min(end + 1, shown.size()));
        line.remove_prefix(std::min(line.find_first_not_of('\t'), line.size()));
        // Indented, the tabs stand behind blanks.
        const std::string_view said = trimmed(line, " \t");
        if (!is_safe(said) || said.starts_with(forged)) {
            return safe(line);
        }
    }
    return {};
}

}  // namespace nightlatch::test
