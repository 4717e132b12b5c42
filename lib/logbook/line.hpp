// SPDX-License-Identifier: MIT
#pragma once

#include <optional>
#include <string>
#include <string_view>

/// A line of the file: a JSON object that says first how long the rest is and what its CRC32C is,
///
///     {"length":57,"crc32c":"8a9136aa",REST}
///
/// so that a line that was torn, or was written over, is not taken for a record. The rest is
/// counted from behind the second comma to the brace at the end, both without the line's end.
namespace nightlatch::logbook {

/// With the line's end. `members` are those of an object, without its braces, and at least one.
std::string line_around(std::string_view members);

/// The members in it, where the line (without its end) is whole.
std::optional<std::string_view> members_of_line(std::string_view line);

}  // namespace nightlatch::logbook
