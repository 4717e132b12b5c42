// SPDX-License-Identifier: MIT
#pragma once

#include "wave/timeline.hpp"

#include <string>

namespace nightlatch::picture {

struct DiagramTitle {
    std::string title;     ///< one line: "tide-logger.toml, pontoon-day.presses.toml"
    std::string subtitle;  ///< the outcome: "1 request: power-off at 20.4 s"
};

/// The timeline as a picture: an SVG that stands alone (no script, no font or image of elsewhere),
/// legible on light and dark pages and in print. It is well-formed whatever the texts hold. Where
/// nothing happens, or where there are too many presses to draw, a stretch is cut out: the break is
/// drawn across all lanes and says what is missing. All that is drawn has one scale.
///
/// Takes time in proportion to the timeline; the result stays below 2 MB. The same timeline gives
/// the same bytes on every machine.
std::string draw_svg(const wave::Timeline& timeline, const DiagramTitle& title);

}  // namespace nightlatch::picture
