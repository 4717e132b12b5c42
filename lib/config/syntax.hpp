// SPDX-License-Identifier: MIT
#pragma once

#include "config/diagnostic.hpp"

#include <optional>
#include <string_view>

/// A text that is not TOML, told in the words of whoever wrote it.
namespace nightlatch::config {

/// Why the file is not UTF-8 text at all, at its first byte that is not: another encoding, or a
/// program in a configuration's place. Nothing for UTF-8 text [https://toml.io/en/v1.0.0#spec].
std::optional<Diagnostic> why_not_text(std::string_view bytes);

/// What is wrong at `place`, where the TOML library stopped. `said`: its own words, which are kept
/// where ours do not fit. The key that was given before is named with its line.
Diagnostic syntax_error(std::string_view text, Place place, std::string_view said);

}  // namespace nightlatch::config
