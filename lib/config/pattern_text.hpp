// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"
#include "core/pattern.hpp"

#include <string>
#include <string_view>

namespace nightlatch::config {

/// Reads "off", "on", "blink N Hz" (0.1 to 25 Hz, at most three decimals, half the time on) and
/// "pulse ON OFF" (ON 1 ms to 10 s, OFF 0 s to 10 s). Otherwise one sentence that says what is
/// allowed.
Result<core::Pattern, std::string> parse_pattern(std::string_view text);

/// "off", "on", "blink 4 Hz", "pulse 50 ms 50 ms": parse_pattern reads it back.
std::string pattern_text(const core::Pattern& pattern);

}  // namespace nightlatch::config
