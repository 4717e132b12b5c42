// SPDX-License-Identifier: MIT
#pragma once

#include "logbook/record.hpp"

#include <string>
#include <string_view>
#include <variant>

namespace nightlatch::logbook {

/// Of what this version writes. It goes up when a reader of the one before would misread; members
/// that such a reader does not know, it passes over.
inline constexpr std::int64_t format_version = 1;

/// Its line in the file, with the line's end. Times are in whole microseconds.
std::string line_of(const Record& record);

/// What a whole line is that is not a record of this version.
enum class NoRecord : unsigned char {
    later_version,
    unknown,  ///< a kind that is not known, or something without which the kind means nothing
};

/// `members`: of a line that is whole (members_of_line).
std::variant<Record, NoRecord> record_of(std::string_view members);

}  // namespace nightlatch::logbook
