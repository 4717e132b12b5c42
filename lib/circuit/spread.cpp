// SPDX-License-Identifier: MIT
#include "circuit/spread.hpp"

#include "base/text.hpp"

#include <algorithm>
#include <charconv>
#include <optional>
#include <vector>

namespace nightlatch::circuit {
namespace {

std::optional<double> fraction_from(std::string_view& text) {
    text = trimmed(text);
    double percent = 0.0;
    const auto read = std::from_chars(text.data(), text.data() + text.size(), percent);
    if (read.ec != std::errc{}) {
        return std::nullopt;
    }
    text.remove_prefix(static_cast<std::size_t>(read.ptr - text.data()));
    return percent / 100.0;
}

struct Tolerance {
    double below = 0.0;
    double above = 0.0;
};

bool skip(std::string_view& text, std::string_view what) {
    text = trimmed(text);
    if (!text.starts_with(what)) {
        return false;
    }
    text.remove_prefix(what.size());
    return true;
}

/// "+80" or "-20"; false when it is neither.
bool read_side(std::string_view& text, Tolerance& tolerance) {
    const bool up = skip(text, "+");
    if (!up && !skip(text, "-")) {
        return false;
    }
    (up ? tolerance.above : tolerance.below) = fraction_from(text).value_or(-1.0);
    return true;
}

/// `text` begins at the sign: "+-20 %", "±20 %", "+80 -20 %", "-20 +80 %".
std::optional<Tolerance> tolerance_from(std::string_view text) {
    Tolerance tolerance;
    if (skip(text, "+-") || skip(text, "\xC2\xB1") || skip(text, "+/-")) {
        const double both = fraction_from(text).value_or(-1.0);
        tolerance = {both, both};
    } else if (!read_side(text, tolerance) || !read_side(text, tolerance)) {
        return std::nullopt;
    }
    const bool ends_well = skip(text, "%") && trimmed(text).empty();
    if (!ends_well || tolerance.below < 0.0 || tolerance.above < 0.0) {
        return std::nullopt;
    }
    return tolerance;
}

std::size_t tolerance_begins(std::string_view text) {
    for (std::size_t i = 1; i < text.size(); ++i) {
        const bool exponent = text[i - 1] == 'e' || text[i - 1] == 'E';
        const bool sign = text[i] == '+' || text[i] == '-';
        if ((sign && !exponent) || text.substr(i, 2) == "\xC2\xB1") {
            return i;
        }
    }
    return std::string_view::npos;
}

Result<SpreadRead, std::string> with_tolerance(std::string_view text,
                                               std::size_t sign,
                                               Unit unit,
                                               Range range) {
    const auto middle = parse_quantity(text.substr(0, sign), unit, range);
    if (!middle) {
        return Unexpected{middle.error()};
    }
    if (unit == Unit::celsius) {
        return Unexpected{"a percentage of degrees says nothing; wanted are the ends, " +
                          in_quotes("-10 C, 40 C")};
    }
    const auto tolerance = tolerance_from(text.substr(sign));
    if (!tolerance || tolerance->below >= 1.0 || tolerance->above > 2.0) {
        return Unexpected{in_quotes(trimmed(text.substr(sign))) +
                          " is not a tolerance; wanted is one below 100 %, as in \"+-20 %\" or "
                          "\"-20 +80 %\""};
    }
    return SpreadRead{
        {*middle * (1.0 - tolerance->below), *middle, *middle * (1.0 + tolerance->above)}, true};
}

/// "2,2 uF": a comma for the point.
std::string comma_hint(std::string_view text, std::size_t comma) {
    const auto is_digit = [&](std::size_t at) {
        return at < text.size() && text[at] >= '0' && text[at] <= '9';
    };
    if (comma == 0 || comma == std::string_view::npos || !is_digit(comma - 1) ||
        !is_digit(comma + 1)) {
        return "";
    }
    std::string pointed(text);
    pointed[comma] = '.';
    return "; a decimal point is written as one: was " + in_quotes(pointed) + " meant?";
}

Result<SpreadRead, std::string> from_list(std::string_view text, Unit unit) {
    std::vector<double> values;
    while (true) {
        const std::size_t comma = text.find(',');
        const auto value = parse_quantity(text.substr(0, comma), unit);
        if (!value) {
            return Unexpected{value.error() + comma_hint(text, comma)};
        }
        values.push_back(*value);
        if (comma == std::string_view::npos) {
            break;
        }
        text.remove_prefix(comma + 1);
    }
    if (values.size() > 3) {
        return Unexpected{std::to_string(values.size()) +
                          " values; wanted are least, typical and largest, or least and largest"};
    }
    for (std::size_t i = 1; i < values.size(); ++i) {
        if (values[i] < values[i - 1]) {
            return Unexpected{to_text(values[i - 1], unit) + " comes before " +
                              to_text(values[i], unit) +
                              "; wanted are least, typical and largest, in this order"};
        }
    }
    const double typical =
        values.size() == 2 ? (values[0] + values[1]) / 2.0 : values[values.size() / 2];
    return SpreadRead{{values.front(), typical, values.back()}, values.size() > 1};
}

}  // namespace

Result<SpreadRead, std::string> parse_spread(std::string_view text, Unit unit, Range range) {
    const bool listed = text.find(',') != std::string_view::npos;
    const std::size_t sign = tolerance_begins(trimmed(text));
    auto read = listed || sign == std::string_view::npos
                    ? from_list(text, unit)
                    : with_tolerance(trimmed(text), sign, unit, range);
    if (!read) {
        return read;
    }
    for (const double value : {read->spread.least, read->spread.most, read->spread.typical}) {
        if (const std::string trouble = trouble_with(value, unit, range); !trouble.empty()) {
            const bool computed = !listed && sign != std::string_view::npos;
            return Unexpected{(computed ? in_quotes(text) + ": " : "") + trouble};
        }
    }
    return read;
}

std::string to_text(const Spread& spread, Unit unit) {
    std::string text = to_text(spread.typical, unit);
    if (!spread.is_exact()) {
        text += " (" + to_text(spread.least, unit) + " to " + to_text(spread.most, unit) + ")";
    }
    return text;
}

}  // namespace nightlatch::circuit
