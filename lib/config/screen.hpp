// SPDX-License-Identifier: MIT
#pragma once

#include "config/diagnostic.hpp"

#include <cstddef>
#include <optional>
#include <string_view>

namespace nightlatch::config {

struct Screened {
    Diagnostic diagnostic;
    std::size_t line_start = 0;  ///< the byte at which the refused line begins
};

/// Looks for what the TOML library (3.3 and 3.4) does not survive, before it sees a text. No
/// correct configuration has any of it:
/// - a character beyond ASCII where the library asks whether it is a blank, which is undefined
///   behaviour for many (is_non_ascii_horizontal_whitespace): outside quotes and comments, where
///   TOML allows none [https://toml.io/en/v1.0.0#keys]; in a text over several lines, after a line
///   that ends in a backslash; and in quotes that a number runs into, because the library looks
///   for the number's end across them;
/// - more than eight points in one line outside quotes and comments. Each begins a table in a
///   table, the library walks them recursively (update_region_ends), and a long dotted key ends
///   its stack.
/// Nothing when the text may be parsed.
std::optional<Screened> screen(std::string_view text);

}  // namespace nightlatch::config
