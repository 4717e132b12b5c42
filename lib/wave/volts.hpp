// SPDX-License-Identifier: MIT
#pragma once

#include "base/decimal.hpp"
#include "base/result.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

/// Voltages, in whole nanovolts.
namespace nightlatch::wave {

/// Below `low` a level is low, above `high` it is high; in between it stays. Not high < low.
struct Thresholds {
    std::int64_t low = 0;
    std::int64_t high = 0;
};

/// "1.6 V", or two with a comma for a hysteresis, "0.8 V, 2.0 V". Otherwise a sentence.
Result<Thresholds, std::string> parse_thresholds(std::string_view text);

/// The power of ten of nanovolts that a text names: 9 for "V" and "Volt", 6 for "mV". Nothing when
/// it is not a unit of a voltage.
std::optional<int> volt_unit(std::string_view text);

/// A number, with its own unit or else in this one. `mark` as decimal_of().
Decimal volts_of(std::string_view text, int exponent, char mark = '.');

/// "1.65 V", "-12 mV": with three significant digits at most.
std::string volts_text(std::int64_t nanovolts);

}  // namespace nightlatch::wave
