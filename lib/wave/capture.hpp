// SPDX-License-Identifier: MIT
#pragma once

#include "base/level.hpp"
#include "base/time.hpp"

#include <optional>
#include <string>
#include <vector>

namespace nightlatch::wave {

/// Levels are electrical here: active means high.
struct CapturedEdge {
    Duration at{};  ///< since the capture's first time
    Level level = Level::inactive;

    bool operator==(const CapturedEdge&) const = default;
};

/// One signal of a recording by a logic analyser or an oscilloscope.
struct Capture {
    std::string signal;  ///< its full name, as the file has it
    Level at_start = Level::inactive;
    std::vector<CapturedEdge> edges;  ///< in order of time; each is to the other level
    Duration end{};                   ///< of the recording; not before the last edge
    /// How often the level was not known (x, z, -, a blank field). The level before it is kept; at
    /// the very start, the first one that is known is taken.
    std::size_t unknown = 0;

    bool operator==(const Capture&) const = default;
};

/// Something to say about a capture file.
struct Problem {
    bool error = true;  ///< else a warning: the capture can be used all the same
    unsigned line = 1;  ///< both count from 1
    unsigned column = 1;
    std::string text;  ///< one sentence: what is wrong, what is allowed; printable characters only

    bool operator==(const Problem&) const = default;
};

struct [[nodiscard]] CaptureRead {
    std::optional<Capture> capture;  ///< there exactly when no problem is an error
    std::vector<Problem> problems;   ///< in the order of their places
};

}  // namespace nightlatch::wave
