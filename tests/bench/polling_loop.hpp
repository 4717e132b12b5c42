// SPDX-License-Identifier: MIT
#pragma once

#include "rehearsal/press_script.hpp"

#include <cstdint>
#include <vector>

namespace nightlatch::bench {

/// What a straightforward loop inside an application does: once a frame of the display it reads the
/// level; pressed for the hold time and released is a request (common practice, no source).
struct Polled {
    std::vector<Duration> requests;     ///< since the start of the script
    std::vector<Duration> near_misses;  ///< released before the hold time
    std::uint64_t polls = 0;
};

Polled poll(const rehearsal::PressScript& script, Duration frame, Duration hold);

}  // namespace nightlatch::bench
