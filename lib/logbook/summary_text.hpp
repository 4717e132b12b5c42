// SPDX-License-Identifier: MIT
#pragma once

#include "logbook/record.hpp"

#include <optional>
#include <string>
#include <string_view>

namespace nightlatch::logbook {

/// "nightlatch-run 1\n", then sorted `key = value` lines: the counts, and of the last decision what
/// there is, stamps in whole microseconds of CLOCK_MONOTONIC. The service keeps it in /run, so it
/// is of this boot.
std::string summary_text(const Summary& summary);

/// Reads back what summary_text() writes, in any order; nothing of anything else.
std::optional<Summary> parse_summary_text(std::string_view text);

}  // namespace nightlatch::logbook
