// SPDX-License-Identifier: MIT
#include "mutator.hpp"

#include <algorithm>
#include <array>
#include <string_view>

namespace nightlatch::test {
namespace {

constexpr std::array<std::string_view, 44> words{"\"",
                                                 "'",
                                                 "\"\"\"",
                                                 "'''",
                                                 "[",
                                                 "]",
                                                 "[[",
                                                 "]]",
                                                 "{",
                                                 "}",
                                                 "=",
                                                 ".",
                                                 ",",
                                                 "#",
                                                 "\n",
                                                 "\r\n",
                                                 "\\",
                                                 "\\u0000",
                                                 "0",
                                                 "-1",
                                                 "65535",
                                                 "1e9",
                                                 "inf",
                                                 "07:32:00",
                                                 "true",
                                                 "\"0 s\"",
                                                 "\"3 s\"",
                                                 "\"24 h\"",
                                                 "\"1 us\"",
                                                 "\"\"",
                                                 "[button]",
                                                 "[[stage]]",
                                                 "[[press]]",
                                                 "hold",
                                                 "debounce",
                                                 "\xC3\xA9",
                                                 "\xFF",
                                                 "\xEF\xBB\xBF",
                                                 "low",
                                                 "threshold",
                                                 "a.b.c.d",
                                                 "\"blink 4 Hz\"",
                                                 "\"5 x 1 ms\"",
                                                 "[\"1 ms\", \"1 ms\"]"};

std::size_t place_in(Dice& dice, const std::string& text) {
    return static_cast<std::size_t>(dice.below(text.size() + 1));
}

/// The line around a random place, with its end.
std::string_view line_of(Dice& dice, const std::string& text) {
    const std::size_t at = place_in(dice, text);
    const std::size_t before = at == 0 ? std::string::npos : text.rfind('\n', at - 1);
    const std::size_t start = before == std::string::npos ? 0 : before + 1;
    const std::size_t end = text.find('\n', start);
    return std::string_view(text).substr(start, end == std::string::npos ? end : end - start + 1);
}

void damage_bytes(Dice& dice, std::string& text) {
    const std::size_t at = place_in(dice, text);
    const std::string some = random_bytes(dice, 4);
    switch (dice.below(3)) {
    case 0:
        text.insert(at, some);
        break;
    case 1:
        text.erase(at, static_cast<std::size_t>(dice.below(12)));
        break;
    default:
        text.replace(at, some.size(), some);
        break;
    }
}

/// `line` comes from any of the texts.
void damage_lines(Dice& dice, std::string& text, const std::string& line) {
    const std::string_view here = line_of(dice, text);
    const auto at = static_cast<std::size_t>(here.data() - text.data());
    switch (dice.below(3)) {
    case 0:
        text.insert(at, line);
        break;
    case 1:
        text.erase(at, here.size());
        break;
    default:
        text.replace(at, here.size(), line);
        break;
    }
}

/// A word in place of a value.
void damage_value(Dice& dice, std::string& text) {
    const std::size_t equals = text.find('=', place_in(dice, text));
    if (equals != std::string::npos) {
        const std::size_t end = std::min(text.find('\n', equals), text.size());
        text.replace(equals + 1, end - equals - 1, dice.pick(words));
    }
}

void damage(Dice& dice, std::string& text, const std::vector<std::string>& others) {
    switch (dice.below(8)) {
    case 0:
        damage_bytes(dice, text);
        break;
    case 1:
        text.insert(place_in(dice, text), dice.pick(words));
        break;
    case 2:
    case 3:
        damage_value(dice, text);
        break;
    default:
        damage_lines(dice, text, std::string(line_of(dice, dice.pick(others))));
        break;
    }
}

}  // namespace

std::string random_bytes(Dice& dice, std::size_t most) {
    std::string text(static_cast<std::size_t>(dice.below(most + 1)), '\0');
    for (char& c : text) {
        c = static_cast<char>(dice.below(256));
    }
    return text;
}

std::string mutated(Dice& dice,
                    const std::vector<std::string>& texts,
                    const std::vector<std::string>& others) {
    std::string text = dice.pick(texts);
    const std::uint64_t places = 1 + dice.below(3);
    for (std::uint64_t i = 0; i < places; ++i) {
        damage(dice, text, others);
    }
    if (dice.one_in(20)) {
        text.resize(place_in(dice, text));
    }
    return text;
}

}  // namespace nightlatch::test
