// SPDX-License-Identifier: MIT
#pragma once

#include <cstdint>
#include <string_view>

namespace nightlatch {

struct Decimal {
    enum class Kind : unsigned char {
        none,       ///< the text is not a number
        too_large,  ///< beyond 4e18, either way
        number,
    };

    Kind kind = Kind::none;
    std::int64_t value = 0;

    [[nodiscard]] bool is_number() const noexcept { return kind == Kind::number; }
};

/// What the text begins with of digits and at most one point between two; "" when that is none.
std::string_view number_at_front(std::string_view text) noexcept;

/// The number "-1.25e-3" times ten to the `exponent`, exactly, rounded to the nearest (halves away
/// from zero); independent of any locale. `mark`: the decimal mark, '.' or ','.
Decimal decimal_of(std::string_view text, int exponent, char mark = '.') noexcept;

}  // namespace nightlatch
