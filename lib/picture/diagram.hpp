// SPDX-License-Identifier: MIT
#pragma once

#include "wave/timeline.hpp"

#include <string>

namespace nightlatch::picture {

struct DiagramTitle {
    std::string title;  ///< the story, in one sentence: "Pressed once: power-off is asked for …"
    std::string subtitle;  ///< where it is from: "tide-logger.toml, pontoon-day.presses.toml"
};

enum class Width : unsigned char { wide, narrow /* for a phone */ };

/// The timeline as a picture: an SVG that stands alone (no script, no font or image of elsewhere),
/// legible on light and dark pages and in print. It is well-formed whatever the texts hold. Where
/// nothing happens, or where there are too many presses to draw, a stretch is cut out: the break is
/// drawn across all lanes, but for their texts, and says what is missing. All that is drawn has one
/// scale.
///
/// Takes time in proportion to the timeline; the result stays below 2 MB. The same timeline gives
/// the same bytes on every machine.
std::string draw_svg(const wave::Timeline& timeline,
                     const DiagramTitle& title,
                     Width width = Width::wide);

}  // namespace nightlatch::picture
