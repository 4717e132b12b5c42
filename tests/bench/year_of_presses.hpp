// SPDX-License-Identifier: MIT
#pragma once

#include "rehearsal/press_script.hpp"

#include <vector>

namespace nightlatch::bench {

/// One press as it was meant and made, since the start of the script.
struct Press {
    Duration begin{};    ///< the contacts' last edge in closing
    Duration release{};  ///< their first in opening
};

struct Year {
    rehearsal::PressScript script;
    std::vector<Press> presses;
};

/// So many days of twenty presses, invented but for the bounce: taps, short holds, holds let go
/// within a tenth of a second before the hold time, and the last of each day long enough to switch
/// the unit off; the next day begins with its being switched on. Edges bounce for up to 6.2 ms, as
/// the good switches of "A Guide to Debouncing" (Ganssle, 2004) did, and one in twenty for up to
/// 50 ms, the most that an application note of Pico Technology gives. The same for the same seed.
Year year_of_presses(int days, Duration hold, std::uint64_t seed);

}  // namespace nightlatch::bench
