// SPDX-License-Identifier: MIT
#pragma once

#include "wave/capture.hpp"
#include "wave/limits.hpp"
#include "wave/volts.hpp"

#include <string_view>

namespace nightlatch::wave {

/// Reads one signal of a table of times and levels, as logic analysers and oscilloscopes export it.
///
/// Rows: fields between commas, semicolons or tabs, whichever the first row has (a tab before a
/// semicolon before a comma); quotation marks around a field are taken off. Blank lines, and those
/// that begin with ';' or '#', are passed over.
///
/// Names: the first row is one of names when its first field is not a number. The time is the
/// column whose name begins with "time" or is "t", else the first; its unit is the name's last word
/// ("Time [s]", "time_ms", "t/us"), else seconds. The level is the column named `signal`, or the
/// only other one for an empty `signal`. Without names a row is a time in seconds and a level.
///
/// Times: numbers with a decimal point or, where no comma separates, a decimal comma; "1.5e-3"; or
/// with a unit of their own, "12.5 ms", as base/duration_text. They are rounded to whole
/// nanoseconds, count from the first row, and may stay but not go back. Levels: 0, 1, low, high, L,
/// H, true, false; x, z, - and nothing where it is not known. With `thresholds` a level is a
/// voltage, in the unit of the column's name ("CH1 (mV)"; the name may be given without it), else
/// in volts, or with a unit of its own; without, voltages are refused with a proposal. A second row
/// of units ("Second,Volt") counts before the names.
///
/// sigrok's own files are read by their comments: channel names, and times by sample rate where a
/// column of times is missing, has no unit, or is rounded [libsigrok 0.5.2, src/output/csv.c].
///
/// Limits, and what is refused with its place, as in read_vcd.
CaptureRead read_csv(std::string_view text,
                     std::string_view signal,
                     std::size_t most_edges = most_captured_edges,
                     const std::optional<Thresholds>& thresholds = std::nullopt);

}  // namespace nightlatch::wave
