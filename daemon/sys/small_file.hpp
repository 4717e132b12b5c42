// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"

#include <cstddef>
#include <string>

namespace nightlatch::sys {

/// Reads a regular file of at most `longest` bytes, not through a symbolic link. Trouble: other.
Result<std::string> read_small_file(const std::string& path, std::size_t longest);

/// Puts the text in place whole, by a rename; what was there stays if that fails. The error says
/// what to do: `remedy`. Trouble: other.
Outcome replace_file(
    const std::string& path,
    const std::string& text,
    const std::string& remedy = "check the unit's RuntimeDirectory= and the room in it");

}  // namespace nightlatch::sys
