// SPDX-License-Identifier: MIT
#include "base/duration_text.hpp"

#include "base/decimal.hpp"
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
    Duration grain;  ///< `length` over ten to `exponent`: a decimal fraction of it is counted so
    int exponent;
};

constexpr std::array units{Unit{"h", 1h, 36ns, 11},
                           Unit{"min", 1min, 6ns, 10},
                           Unit{"s", 1s, 1ns, 9},
                           Unit{"ms", 1ms, 1ns, 6},
                           Unit{"us", 1us, 1ns, 3}};

constexpr Duration longest = 24h;
constexpr std::string_view allowed = R"(a number with a unit: "500 us", "30 ms", "1.5 s", "2 min")";

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
    const std::string_view number = number_at_front(text);
    if (number.empty()) {
        return Unexpected{std::string("expected ") + std::string(allowed)};
    }
    std::string_view rest = text.substr(number.size());
    rest.remove_prefix(std::min(rest.find_first_not_of(' '), rest.size()));
    if (rest.empty()) {
        return Unexpected{std::string("it has no unit; expected ") + std::string(allowed)};
    }
    const auto* const unit =
        std::find_if(units.begin(), units.end(), [&](const Unit& one) { return one.name == rest; });
    if (unit == units.end()) {
        return Unexpected{in_quotes(rest) + " is not a unit; use us, ms, s, min or h"};
    }
    const Decimal grains = decimal_of(number, unit->exponent);
    if (!grains.is_number() || grains.value > longest / unit->grain) {
        return Unexpected{std::string("longer than 24 h")};
    }
    return grains.value * unit->grain;
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
