// SPDX-License-Identifier: MIT
#include "wave/csv_fields.hpp"

#include "base/duration_text.hpp"
#include "base/text.hpp"
#include "wave/limits.hpp"
#include "wave/volts.hpp"

#include <algorithm>
#include <charconv>
#include <string>

namespace nightlatch::wave {
namespace {

constexpr std::uint64_t ns_a_second = 1'000'000'000;

/// The time of the sample with this number, rounded; `rate` as CsvPreamble bounds it. Nothing when
/// it is too long.
std::optional<std::int64_t> time_of_sample(std::uint64_t number, std::uint64_t rate) {
    constexpr std::uint64_t most_seconds = 4'000'000'000;  // as a decimal's limit
    if (number / rate >= most_seconds) {
        return std::nullopt;
    }
    const std::uint64_t rest = number % rate * ns_a_second;
    return static_cast<std::int64_t>(number / rate * ns_a_second + rest / rate +
                                     (rest % rate * 2 >= rate ? 1 : 0));
}

}  // namespace

Decimal csv_volts(std::string_view text, const CsvLayout& layout) {
    const Decimal volts = volts_of(text, layout.volt_exponent);
    return volts.kind == Decimal::Kind::none && layout.separator != ','
               ? volts_of(text, layout.volt_exponent, ',')
               : volts;
}

std::optional<CsvTimes::Time> CsvTimes::of(const CsvLine& line, std::span<const CsvText> fields) {
    const std::uint64_t row = rows_++;
    if (fields.size() != layout_.columns) {
        problems_.error(line.at,
                        "this row has " + csv_fields_counted(fields.size()) + ", the first has " +
                            std::to_string(layout_.columns));
        return std::nullopt;
    }
    if (!layout_.time) {
        const auto time = time_of_sample(row, layout_.rate);
        return Time{time.value_or(2 * longest_capture.count()), line.at};
    }
    const CsvText& field = fields[*layout_.time];
    const auto time = time_of(field);
    return time ? std::optional(Time{*time, field.at}) : std::nullopt;
}

Decimal CsvTimes::number_of(std::string_view text, int exponent) const {
    const Decimal number = decimal_of(text, exponent);
    return number.kind == Decimal::Kind::none ? decimal_of(text, exponent, mark_) : number;
}

/// Nothing when the time is not a whole number of samples.
std::optional<std::int64_t> CsvTimes::time_by_count(std::string_view text) const {
    std::uint64_t count = 0;
    const auto [last, failure] = std::from_chars(text.data(), text.data() + text.size(), count);
    if (layout_.period == 0 || failure != std::errc{} || last != text.data() + text.size() ||
        count % layout_.period != 0) {
        return std::nullopt;
    }
    return time_of_sample(count / layout_.period, layout_.rate);
}

/// Nothing, and told, when it is none.
std::optional<std::int64_t> CsvTimes::time_of(const CsvText& field) {
    if (const auto time = time_by_count(field.text)) {
        return time;
    }
    const Decimal number = number_of(field.text, layout_.time_exponent);
    if (number.kind == Decimal::Kind::too_large) {
        problems_.error(field.at,
                        "the time " + in_quotes(field.text) +
                            " is beyond 126 years: is its unit "
                            "right?");
        return std::nullopt;
    }
    return number.is_number() ? std::optional(number.value) : time_in_words(field);
}

std::optional<std::int64_t> CsvTimes::time_in_words(const CsvText& field) {
    std::string text(field.text.substr(0, 100));
    if (mark_ == ',') {
        std::replace(text.begin(), text.end(), ',', '.');
    }
    if (const auto duration = parse_duration(text)) {
        return duration->count();
    }
    problems_.error(field.at,
                    "a time is a number, or one with a unit of us, ms, s, min or h, up to 24 h, as "
                    "in \"12.5 ms\", not " +
                        in_quotes(field.text));
    return std::nullopt;
}

bool CsvTimes::advance(Time time) {
    if (!first_) {
        first_ = time.value;
    }
    const Duration since(time.value - *first_);  // decimals stay within 4e18, so this within 8e18
    if (since < latest_) {
        problems_.error(time.at, "the time goes back, by " + seconds_text(latest_ - since));
        return false;
    }
    if (since > longest_capture) {
        problems_.error(
            time.at,
            "this is more than 366 days after the first row, which is a recording's most: is the "
            "time's unit right?");
        stopped_ = true;
        return false;
    }
    latest_ = since;
    return true;
}

}  // namespace nightlatch::wave
