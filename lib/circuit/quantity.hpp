// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"

#include <string>
#include <string_view>

namespace nightlatch::circuit {

/// What a value measures. All arithmetic is in SI units: V, A, ohm, F, s, m, K/W, W, J;
/// temperatures are in degrees Celsius, a battery's capacity in ampere-hours.
enum class Unit : unsigned char {
    volt,
    ampere,
    ohm,
    farad,
    second,
    celsius,
    kelvin_per_watt,
    metre,
    ampere_hour,
    factor,  ///< a bare number, or percent
    watt,
    watt_hour,
    joule,
};

/// What is plausible for one kind of part, both ends allowed.
struct Range {
    double least = 0.0;
    double most = 0.0;
};

/// Reads "22 uF", "4.7 kohm", "10 k" (ohm only), "0.8 V", "5 µA", "100 ms", "-10 C", "62 K/W",
/// "2.6 Ah": a number, optional blanks, one of p n u µ m k M, and the unit (also Ω, °C). A bad
/// text gives one sentence that says what is wrong and what is allowed, or what was probably meant
/// by "4k7", "10R", "22 uf": not a number, no unit, another unit, negative, zero (temperatures may
/// be both), not finite.
Result<double, std::string> parse_quantity(std::string_view text, Unit unit);

/// The same, and within `range`; the sentence names the range and, where a slip of the prefix is
/// the likely cause, what was probably meant.
Result<double, std::string> parse_quantity(std::string_view text, Unit unit, Range range);

/// Why `value` will not do, or nothing: the check of `parse_quantity` for a value by itself.
std::string trouble_with(double value, Unit unit, Range range);

/// Readable, with at most so many significant digits: "22 uF", "4.7 kohm", "0.8 V", "25 C". "none"
/// for an infinite value. parse_quantity reads it back.
std::string to_text(double value, Unit unit, int digits = 4);

/// "V", "A", "ohm", "F", "s", "C", "K/W", "m", "Ah", "", "W", "Wh", "J".
std::string_view symbol_of(Unit unit) noexcept;

/// A bare number with at most so many significant digits, without an exponent: "0.25", "1200".
std::string number_text(double value, int digits = 4);

}  // namespace nightlatch::circuit
