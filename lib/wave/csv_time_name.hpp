// SPDX-License-Identifier: MIT
#pragma once

#include <optional>
#include <string_view>

namespace nightlatch::wave {

/// What a column's name says of time.
struct CsvTimeName {
    bool is_time = false;
    /// The unit is this power of ten of nanoseconds: 9 for "Time [s]" and for a name without unit.
    /// Nothing for an unknown one in brackets: "Time (ticks)".
    std::optional<int> exponent;
};

/// A name is one of a time when its first word is "t", begins with "time" or is a unit's whole word
/// ("nanoseconds"). The unit is its last word, as in "Time [s]", "time_ms", "t/us", "Time (ns)".
CsvTimeName csv_time_name(std::string_view name);

/// The power of ten of nanoseconds that a text names: 9 for "s" and "Second". Nothing when it is no
/// unit of time.
std::optional<int> csv_time_unit(std::string_view text);

}  // namespace nightlatch::wave
