// SPDX-License-Identifier: MIT
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace nightlatch::audit {

/// That a person once watched the supply go, and whether the unit is still as it was then.
struct Witness {
    std::uint64_t run = 0;             ///< of the logbook
    std::string words;                 ///< the person's
    bool holds = false;                ///< all that the verdict rests on is as it was
    std::string why_not;               ///< else a sentence
    std::vector<std::string> changed;  ///< keys of the facts that matter and are not the same
};

/// One sentence, which begins with what was watched.
std::string sentence_of(const Witness& witness);

}  // namespace nightlatch::audit
