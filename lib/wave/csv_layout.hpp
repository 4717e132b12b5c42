// SPDX-License-Identifier: MIT
#pragma once

#include "wave/csv_rows.hpp"
#include "wave/problems.hpp"
#include "wave/volts.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace nightlatch::wave {

/// Where in a row the time and the level stand, and what the time's number means.
struct CsvLayout {
    char separator = ',';
    std::size_t columns = 0;
    std::optional<std::size_t> time;  ///< none: a row is a sample, `rate` of them a second
    int time_exponent = 9;            ///< the unit, as a power of ten of nanoseconds
    std::uint64_t rate = 0;           ///< samples a second; 0: not said
    /// The time counts so many of its units a sample, and the sample's number times 1/rate is more
    /// exact; 0: it does not.
    std::uint64_t period = 0;
    std::size_t level = 0;
    int volt_exponent = 9;                 ///< the level's unit, where it is a voltage
    std::optional<Thresholds> thresholds;  ///< the level is a voltage; else a word
    std::string name;                      ///< of the level's column
    std::size_t at = 0;                    ///< offset of the level's column in the first row
    std::optional<CsvLine> first;          ///< the first row, when it is none of names
};

/// Reads comments, the first row, and a second one of units. Nothing, and an error, when no column
/// is the level's or when no time can be told.
std::optional<CsvLayout> read_csv_layout(CsvLines& lines,
                                         std::string_view wanted,
                                         Problems& problems);

}  // namespace nightlatch::wave
