// SPDX-License-Identifier: MIT
#pragma once

namespace nightlatch {

/// Where in a text that a person wrote: both count from 1, the column counts characters (not
/// bytes).
struct Place {
    unsigned line = 1;
    unsigned column = 1;

    bool operator==(const Place&) const = default;

    bool operator<(const Place& other) const noexcept {
        return line < other.line || (line == other.line && column < other.column);
    }
};

}  // namespace nightlatch
