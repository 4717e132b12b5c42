// SPDX-License-Identifier: MIT
#pragma once

#include "picture/diagram_lane.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::picture::svg {

/// A stretch of one cue that one piece shows; or several in a row, each too short to be seen.
struct CueBox {
    std::size_t first = 0;  ///< in the timeline's cues
    std::size_t count = 1;
    unsigned strip = 0;
    double left = 0;
    double right = 0;
    bool named =
        true;  ///< has its name even if that needs a tag; a cue's other pieces may go without
};

std::vector<CueBox> cue_boxes(const Plot& plot);

Lane cue_lane(const Plot& plot, unsigned strip, const std::vector<CueBox>& boxes);

/// "ready: off"; "leaving (asked)"; "rest" where the state has the cue's own word.
std::string cue_words(const wave::CueChange& cue);

/// The class of the pattern by which a cue is known beside its word.
std::string_view pattern_of(std::string_view cue) noexcept;

}  // namespace nightlatch::picture::svg
