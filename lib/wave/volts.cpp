// SPDX-License-Identifier: MIT
#include "wave/volts.hpp"

#include "base/text.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cstdlib>

namespace nightlatch::wave {
namespace {

struct VoltUnit {
    std::string_view name;
    int exponent;
};

constexpr std::array volt_units{VoltUnit{"v", 9},
                                VoltUnit{"volt", 9},
                                VoltUnit{"volts", 9},
                                VoltUnit{"mv", 6},
                                VoltUnit{"millivolt", 6},
                                VoltUnit{"millivolts", 6},
                                VoltUnit{"uv", 3},
                                VoltUnit{"\xC2\xB5v", 3},
                                VoltUnit{"\xCE\xBCv", 3},
                                VoltUnit{"kv", 12}};

/// "3.28 mV" as its number and its unit; the unit is empty where there is none.
struct Split {
    std::string_view number;
    std::string_view unit;
};

Split split(std::string_view text) {
    const std::size_t last = text.find_last_of("0123456789.,");
    const std::size_t size = last == std::string_view::npos ? 0 : last + 1;
    return {text.substr(0, size), trimmed(text.substr(size))};
}

/// Nothing without a unit: a bare number could be meant in any.
std::optional<std::int64_t> voltage_of(std::string_view text) {
    const Decimal volts = volts_of(text, 9);
    return volts.is_number() && !split(text).unit.empty() ? std::optional(volts.value)
                                                          : std::nullopt;
}

}  // namespace

std::optional<int> volt_unit(std::string_view text) {
    const auto same = [text](const VoltUnit& unit) {
        return std::equal(
            text.begin(), text.end(), unit.name.begin(), unit.name.end(), [](char c, char small) {
                return small == (c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c);
            });
    };
    const auto* const unit = std::find_if(volt_units.begin(), volt_units.end(), same);
    return unit == volt_units.end() ? std::nullopt : std::optional(unit->exponent);
}

Decimal volts_of(std::string_view text, int exponent, char mark) {
    const Split parts = split(text);
    const auto unit = parts.unit.empty() ? std::optional(exponent) : volt_unit(parts.unit);
    return unit ? decimal_of(parts.number, *unit, mark) : Decimal();
}

std::string volts_text(std::int64_t nanovolts) {
    constexpr std::int64_t least_volts = 999'500'000;  // below it three digits are of millivolts
    constexpr int digits = 3;
    const bool small = std::abs(nanovolts) < least_volts && nanovolts != 0;
    const double value = static_cast<double>(nanovolts) / (small ? 1e6 : 1e9);
    std::array<char, 32> text{};
    const auto written = std::to_chars(
        text.data(), text.data() + text.size(), value, std::chars_format::general, digits);
    return std::string(text.data(), written.ptr) + (small ? " mV" : " V");
}

Result<Thresholds, std::string> parse_thresholds(std::string_view text) {
    const std::size_t comma = text.find(',');
    const auto low = voltage_of(trimmed(text.substr(0, comma)));
    const auto high =
        comma == std::string_view::npos ? low : voltage_of(trimmed(text.substr(comma + 1)));
    if (!low || !high || *high < *low) {
        return Unexpected{"a threshold is a voltage with its unit, as in \"1.6 V\", or two with a "
                          "comma, the lower one first, as in \"0.8 V, 2.0 V\", not " +
                          in_quotes(text)};
    }
    return Thresholds{*low, *high};
}

}  // namespace nightlatch::wave
