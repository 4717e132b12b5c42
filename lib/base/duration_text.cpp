// SPDX-License-Identifier: MIT
#include "base/duration_text.hpp"

#include "base/text.hpp"

#include <algorithm>
#include <array>
#include <cstdint>
#include <cstdio>

namespace nightlatch {
namespace {

using namespace std::chrono_literals;

struct Unit {
    std::string_view name;
    Duration length;
};

constexpr std::array units{
    Unit{"h", 1h}, Unit{"min", 1min}, Unit{"s", 1s}, Unit{"ms", 1ms}, Unit{"us", 1us}};

constexpr Duration longest = 24h;
constexpr std::string_view allowed = R"(a number with a unit: "500 us", "30 ms", "1.5 s", "2 min")";

/// Digits and at most one point, as a count of billionths, so that no rounding of floats comes in.
struct Number {
    std::int64_t billionths = 0;
    std::size_t length = 0;
    bool ok = false;
};

Number read_number(std::string_view text) {
    constexpr std::int64_t one = 1'000'000'000;
    constexpr std::int64_t most = 100'000'000;  // keeps every product below inside 64 bits
    Number number;
    std::int64_t whole = 0;
    while (number.length < text.size() && is_digit(text[number.length]) && whole <= most) {
        whole = whole * 10 + (text[number.length++] - '0');
    }
    number.ok = number.length > 0 && whole <= most;
    std::int64_t fraction = 0;
    if (number.ok && number.length < text.size() && text[number.length] == '.') {
        const std::size_t first = ++number.length;
        std::int64_t weight = one / 10;
        for (; number.length < text.size() && is_digit(text[number.length]); ++number.length) {
            fraction += weight * (text[number.length] - '0');
            weight /= 10;
        }
        number.ok = number.length > first;
    }
    number.billionths = whole * one + fraction;
    return number;
}

std::string with_unit(Duration duration, const Unit& unit) {
    const auto whole = duration / unit.length;
    std::string fraction;
    Duration rest = duration % unit.length;
    while (rest.count() != 0) {
        rest *= 10;
        fraction += static_cast<char>('0' + rest / unit.length);
        rest %= unit.length;
    }
    std::string text = std::to_string(whole);
    if (!fraction.empty()) {
        text += "." + fraction;
    }
    return text + " " + std::string(unit.name);
}

std::string text_of_length(Duration duration) {
    if (duration == Duration::zero()) {
        return "0 s";
    }
    for (const Unit& unit : {units[0], units[1]}) {
        if (duration % unit.length == Duration::zero()) {
            return with_unit(duration, unit);
        }
    }
    if (duration >= 1s) {
        return with_unit(duration, units[2]);
    }
    return with_unit(duration, duration >= 1ms ? units[3] : units[4]);
}

}  // namespace

Result<Duration, std::string> parse_duration(std::string_view text) {
    const Number number = read_number(text);
    if (!number.ok) {
        return Unexpected{std::string("expected ") + std::string(allowed)};
    }
    std::string_view rest = text.substr(number.length);
    rest.remove_prefix(std::min(rest.find_first_not_of(' '), rest.size()));
    for (const Unit& unit : units) {
        if (unit.name != rest) {
            continue;
        }
        const std::int64_t whole = number.billionths / 1'000'000'000;
        const std::int64_t part = number.billionths % 1'000'000'000;
        if (whole > longest / unit.length) {
            return Unexpected{std::string("longer than 24 h")};
        }
        // The part is in billionths of the unit; dividing the unit first keeps it inside 64 bits.
        const Duration duration =
            whole * unit.length + Duration(part * (unit.length.count() / 1'000) / 1'000'000);
        if (duration > longest) {
            return Unexpected{std::string("longer than 24 h")};
        }
        return duration;
    }
    if (rest.empty()) {
        return Unexpected{std::string("has no unit; expected ") + std::string(allowed)};
    }
    return Unexpected{in_quotes(rest) + " is no unit; use us, ms, s, min or h"};
}

std::string to_text(Duration duration) {
    return duration < Duration::zero() ? "-" + text_of_length(-duration) : text_of_length(duration);
}

std::string to_text(const DurationRange& range) {
    return to_text(range.least) + " to " + to_text(range.most);
}

std::string seconds_text(Duration duration) {
    std::array<char, 48> text{};
    const double seconds = std::chrono::duration<double>(duration).count();
    if (duration < 100ms && duration > -100ms) {
        std::snprintf(text.data(), text.size(), "%.3g ms", seconds * 1e3);
    } else if (duration < 1s && duration > -1s) {
        std::snprintf(text.data(), text.size(), "%.0f ms", seconds * 1e3);
    } else {
        std::snprintf(text.data(), text.size(), "%.3f s", seconds);
    }
    return text.data();
}

}  // namespace nightlatch
