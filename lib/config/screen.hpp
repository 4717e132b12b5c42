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

/// Looks for two things outside quotes and comments before the TOML library sees a text, because
/// the library (3.3 and 3.4) does not survive them; no correct configuration has either:
/// - a character beyond ASCII. TOML allows none there [https://toml.io/en/v1.0.0#keys]; the library
///   runs into undefined behaviour over it (is_non_ascii_horizontal_whitespace);
/// - more than eight points in one line. Each begins a table in a table, the library walks them
///   recursively (update_region_ends), and a long dotted key ends its stack.
/// Nothing when the text may be parsed.
std::optional<Screened> screen(std::string_view text);

}  // namespace nightlatch::config
