// SPDX-License-Identifier: MIT
#include "config/pattern_text.hpp"

#include "base/decimal.hpp"
#include "base/duration_text.hpp"
#include "base/nearest.hpp"
#include "config/diagnostic.hpp"

#include <algorithm>
#include <array>
#include <cstdint>
#include <optional>
#include <vector>

namespace nightlatch::config {
namespace {

using core::Pattern;
using core::PatternKind;
using nightlatch::to_text;
using namespace std::chrono_literals;

constexpr std::string_view allowed_patterns =
    R"(allowed: "off", "on", "blink 4 Hz", "pulse 50 ms 50 ms" (on, off))";
constexpr std::int64_t half_second_in_nanomillis = 500'000'000'000;  // 0.5 s * 1e9 * 1000

/// Words, where a number and its unit are one: "50 ms" and "50ms" alike.
std::vector<std::string> words_of(std::string_view text) {
    std::vector<std::string> words;
    bool number = false;  // the last word is a bare number that waits for its unit
    while (true) {
        const std::size_t first = text.find_first_not_of(' ');
        if (first == std::string_view::npos) {
            return words;
        }
        text.remove_prefix(first);
        const std::string_view word = text.substr(0, text.find(' '));
        text.remove_prefix(word.size());
        if (number) {
            words.back() += " " + std::string(word);
        } else {
            words.emplace_back(word);
        }
        number = !number && word.find_first_not_of("0123456789.") == std::string_view::npos;
    }
}

/// Thousandths of a hertz from "4 Hz", "2.5 Hz": digits, and a point with one to three more.
std::optional<std::int64_t> millihertz(std::string_view text) {
    const std::string_view number = number_at_front(text);
    const std::string_view unit = text.substr(number.size());
    const std::size_t decimals = number.size() - std::min(number.find('.'), number.size());
    const Decimal value = decimal_of(number, 3);
    const bool good = value.is_number() && decimals <= 4 && (unit == " Hz" || unit == "Hz");
    return good ? std::optional(value.value) : std::nullopt;
}

Result<Pattern, std::string> parse_blink(const std::vector<std::string>& words) {
    const auto frequency = words.size() == 2 ? millihertz(words[1]) : std::nullopt;
    if (!frequency) {
        return Unexpected{
            std::string(R"(has no frequency; expected "blink 4 Hz", "blink 0.5 Hz")")};
    }
    if (*frequency < 100 || *frequency > 25'000) {
        return Unexpected{std::string("is out of range; allowed: 0.1 Hz to 25 Hz")};
    }
    const Duration half(half_second_in_nanomillis / *frequency);
    return Pattern{PatternKind::blink, half, half};
}

Result<Pattern, std::string> parse_pulse(const std::vector<std::string>& words) {
    const auto on = words.size() == 3 ? parse_duration(words[1]) : Duration::zero();
    const auto off = words.size() == 3 ? parse_duration(words[2]) : Duration::zero();
    if (words.size() != 3 || !on || !off) {
        return Unexpected{
            std::string(R"(does not have two durations, on and off: "pulse 50 ms 50 ms")")};
    }
    if (*on < 1ms || *on > 10s || *off > 10s) {
        return Unexpected{
            std::string("is out of range; allowed: on 1 ms to 10 s, off 0 s to 10 s")};
    }
    return Pattern{PatternKind::pulse, *on, *off};
}

}  // namespace

Result<Pattern, std::string> parse_pattern(std::string_view text) {
    const std::vector<std::string> words = words_of(text);
    const std::string first = words.empty() ? "" : words.front();
    if (words.size() == 1 && first == "off") {
        return Pattern{PatternKind::off, {}, {}};
    }
    if (words.size() == 1 && first == "on") {
        return Pattern{PatternKind::on, {}, {}};
    }
    if (first == "blink") {
        return parse_blink(words);
    }
    if (first == "pulse") {
        return parse_pulse(words);
    }
    constexpr std::array<std::string_view, 4> names{"off", "on", "blink", "pulse"};
    const auto near = nearest(first, names);
    return Unexpected{std::string("is not a pattern; ") + std::string(allowed_patterns) +
                      (near ? "; did you mean " + in_quotes(*near) + "?" : "")};
}

std::string pattern_text(const Pattern& pattern) {
    switch (pattern.kind) {
    case PatternKind::off:
        return "off";
    case PatternKind::on:
        return "on";
    case PatternKind::pulse:
        return "pulse " + to_text(pattern.on) + " " + to_text(pattern.off);
    case PatternKind::blink:
        break;
    }
    // To the nearest thousandth, which undoes the division that made the half period.
    const std::int64_t half = pattern.on.count();
    const std::int64_t frequency =
        half > 0 ? (half_second_in_nanomillis + half / 2) / half : std::int64_t{0};
    std::string text = "blink " + std::to_string(frequency / 1000);
    if (frequency % 1000 != 0) {
        std::string decimals = std::to_string(1000 + frequency % 1000).substr(1);
        decimals.erase(decimals.find_last_not_of('0') + 1);
        text += "." + decimals;
    }
    return text + " Hz";
}

}  // namespace nightlatch::config
