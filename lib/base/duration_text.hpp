// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"
#include "base/time.hpp"

#include <string>
#include <string_view>

namespace nightlatch {

/// Reads "30 ms", "1.5 s", "2min": a number, optional blanks, and one of us, ms, s, min, h.
/// Range: 0 to 24 h, to the nanosecond (of hours and minutes, to 36 and 6 of them). Anything else,
/// a bare number too, gives one sentence that says what is allowed.
Result<Duration, std::string> parse_duration(std::string_view text);

/// The shortest exact text that parse_duration reads back: "30 ms", "1.5 s", "2 min".
std::string to_text(Duration duration);

/// What is possible, both ends included.
struct DurationRange {
    Duration least;
    Duration most;
};

/// "0 s to 10 min".
std::string to_text(const DurationRange& range);

/// For people: milliseconds below a second, else seconds to three decimals ("3.004 s").
std::string seconds_text(Duration duration);

}  // namespace nightlatch
