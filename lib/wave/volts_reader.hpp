// SPDX-License-Identifier: MIT
#pragma once

#include "wave/capture.hpp"
#include "wave/formats.hpp"

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace nightlatch::wave {

/// A voltage as an oscilloscope sampled it.
struct VoltPoint {
    double at = 0.0;  ///< s since the capture's first row
    double volts = 0.0;

    bool operator==(const VoltPoint&) const = default;
};

struct [[nodiscard]] VoltsRead {
    /// A curve for each name that was asked for, in order of time; there exactly when no problem is
    /// an error. What was not known (x, z, - or nothing) is left out.
    std::optional<std::vector<std::vector<VoltPoint>>> curves;
    std::vector<Problem> problems;  ///< in the order of their places
};

/// More rows than any oscilloscope's memory needs for this: export fewer.
constexpr std::size_t most_volt_rows = 4'000'000;

/// Reads the named columns of a table of times and voltages; rows, names, times and units as
/// read_csv(). A value change dump has no voltages. Refused is also a column that has 0 and 1 only,
/// or no voltage.
VoltsRead read_volts(const CaptureFile& file, std::span<const std::string> names);

}  // namespace nightlatch::wave
