// SPDX-License-Identifier: MIT
#pragma once

#include "logbook/record.hpp"

#include <cstddef>
#include <string_view>
#include <vector>

namespace nightlatch::logbook {

enum class Unreadable : unsigned char {
    torn,           ///< what stands behind the last line's end: its writing was cut off
    damaged,        ///< a line whose length or sum is wrong; with one, a write that was cut off
    later_version,  ///< a line that a later version of the program wrote
    unknown,        ///< a whole line that is not a record
};

/// Lines in a row that were not read, for the same reason.
struct Unread {
    Unreadable why{};
    std::size_t line = 0;  ///< the first, from 1
    std::size_t lines = 0;
    std::size_t bytes = 0;
};

/// What a file holds.
struct FileRead {
    std::vector<Record> records;  ///< in the order of the file
    std::vector<Unread> unread;
    /// Nothing stands behind the last line's end: what is appended is a line of its own.
    bool whole = true;
};

/// Reads any bytes, in time and memory that grow with their number. Each line stands for itself:
/// one that was cut off by a loss of power hides none that was written after it.
FileRead read_records(std::string_view text);

}  // namespace nightlatch::logbook
