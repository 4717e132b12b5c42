// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/quantity.hpp"

#include <string>
#include <string_view>

namespace nightlatch::circuit {

/// What a value may be in the circuit that is built: least <= typical <= most, in the unit's own
/// scale. A part that is left out is `infinite` (a resistor) or zero (a capacitor, a wire).
struct Spread {
    double least = 0.0;
    double typical = 0.0;
    double most = 0.0;

    static constexpr Spread exactly(double value) { return {value, value, value}; }

    /// `fraction` below and above: 0.2 for 20 %.
    static constexpr Spread within(double value, double fraction) {
        return {value * (1.0 - fraction), value, value * (1.0 + fraction)};
    }

    /// Linear between the three: 0 is the least, 0.5 the typical, 1 the largest value.
    [[nodiscard]] constexpr double at(double position) const {
        if (position <= 0.0 || least == most) {
            return least;
        }
        if (position < 0.5) {
            return least + (typical - least) * (2.0 * position);
        }
        return position >= 1.0 ? most : typical + (most - typical) * (2.0 * position - 1.0);
    }

    [[nodiscard]] constexpr bool is_exact() const { return least == most; }

    bool operator==(const Spread&) const = default;
};

struct SpreadRead {
    Spread spread;
    bool tolerance_stated = false;  ///< false for one bare value, whose part class may then say
};

/// Reads "22 uF", "22 uF +-20 %", "22 uF ±20 %", "22 uF -20 +80 %", "0.8 V, 1.3 V, 1.5 V" (least,
/// typical, largest) or "0.8 V, 1.5 V" (the middle is taken as typical), each value within `range`.
/// Otherwise one sentence: swapped values, a tolerance of 100 % or more, and all of parse_quantity.
Result<SpreadRead, std::string> parse_spread(std::string_view text, Unit unit, Range range);

/// "22 uF (17.6 uF to 26.4 uF)", or "22 uF" when exact.
std::string to_text(const Spread& spread, Unit unit);

}  // namespace nightlatch::circuit
