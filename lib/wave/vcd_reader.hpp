// SPDX-License-Identifier: MIT
#pragma once

#include "wave/capture.hpp"
#include "wave/limits.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::wave {

/// Reads one signal of a four-state value change dump [IEEE 1364-2005, clause 18]. Text before the
/// first keyword is passed over.
///
/// `signal`: its full name ("top.panel.button"), or the end of it ("button"), or nothing for the
/// only one-bit signal. Times count from the first `#` time, or from 0 when values come before it,
/// and are rounded to whole nanoseconds; of several values in the same nanosecond the last counts.
/// Refused, each with its place and with what is allowed: what is not of the format, a time that
/// goes back, more than 366 days, more than 10,000,000 edges, a signal wider than one bit, one that
/// is never 0 or 1. Takes time in proportion to the text's size.
CaptureRead read_vcd(std::string_view text,
                     std::string_view signal,
                     std::size_t most_edges = most_captured_edges);

/// The full names of all signals that read_vcd can read, in the file's order.
std::vector<std::string> vcd_signals(std::string_view text);

}  // namespace nightlatch::wave
