// SPDX-License-Identifier: MIT
#include "base/text.hpp"
#include "daemon/tool/logbook/logbook.hpp"

#include <array>
#include <chrono>

namespace nightlatch::tool {
namespace {

using logbook::DayClock;

/// "06" from 6.
std::string two_digits(unsigned number) {
    return (number < 10 ? "0" : "") + std::to_string(number);
}

/// The digits between `at` and so many on; more than `most` is none.
std::optional<unsigned> digits(std::string_view text, std::size_t at, std::size_t count) {
    const std::string_view part = text.substr(std::min(at, text.size()), count);
    return part.size() == count ? number_in(part) : std::nullopt;
}

std::optional<std::chrono::minutes> minutes_in(std::string_view text) {
    const auto hour = digits(text, 0, 2);
    const auto minute = digits(text, 3, 2);
    if (text.size() != 5 || text[2] != ':' || !hour || !minute || *hour > 23 || *minute > 59) {
        return std::nullopt;
    }
    return std::chrono::hours(*hour) + std::chrono::minutes(*minute);
}

}  // namespace

std::optional<DayClock::time_point> day_in(std::string_view text) {
    const auto year = digits(text, 0, 4);
    const auto month = digits(text, 5, 2);
    const auto day = digits(text, 8, 2);
    if (!year || !month || !day || text[4] != '-' || text[7] != '-') {
        return std::nullopt;
    }
    const std::chrono::year_month_day date{std::chrono::year(static_cast<int>(*year)),
                                           std::chrono::month(*month),
                                           std::chrono::day(*day)};
    if (!date.ok()) {
        return std::nullopt;
    }
    std::optional<std::chrono::minutes> time = std::chrono::minutes(0);
    if (text.size() > 10) {
        time = text[10] == ' ' || text[10] == 'T' ? minutes_in(text.substr(11)) : std::nullopt;
    }
    if (!time) {
        return std::nullopt;
    }
    const auto since_1970 = std::chrono::sys_days(date).time_since_epoch() + *time;
    return DayClock::time_point(since_1970);
}

std::string day_text(DayClock::time_point day) {
    const auto minutes = std::chrono::floor<std::chrono::minutes>(day.time_since_epoch());
    const auto days = std::chrono::floor<std::chrono::days>(minutes);
    const std::chrono::year_month_day date{std::chrono::sys_days(days)};
    const auto of_day = static_cast<unsigned>((minutes - days).count());
    return std::to_string(static_cast<int>(date.year())) + "-" +
           two_digits(static_cast<unsigned>(date.month())) + "-" +
           two_digits(static_cast<unsigned>(date.day())) + " " + two_digits(of_day / 60) + ":" +
           two_digits(of_day % 60) + " UTC";
}

}  // namespace nightlatch::tool
