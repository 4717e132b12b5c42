// SPDX-License-Identifier: MIT
#pragma once

#include "picture/diagram_lane.hpp"

#include <span>

namespace nightlatch::picture::svg {

/// Edges so near each other that they cannot be told apart at the picture's scale.
struct Burst {
    Span time;  ///< from the first edge to the last
    std::size_t edges = 0;
    unsigned strip = 0;
    double left = 0;
    double right = 0;
    char letter = 0;  ///< of its close-up; 0 when there is none
};

/// In the order of time; the first few that are worth it have the letters A, B, C …
std::vector<Burst> bursts_of(const Plot& plot);

Lane raw_lane(const Plot& plot, unsigned strip, std::span<const Burst> bursts);
Lane settled_lane(const Plot& plot, unsigned strip);

/// Between which heights a level is drawn.
struct Track {
    double high = 0;
    double low = 0;
};

/// The part of the timeline that `piece` shows, drawn at `per_second` from its left on. Changes
/// nearer to each other than a unit are drawn as one stroke.
void draw_level(Svg& svg,
                std::span<const wave::LevelChange> changes,
                const Piece& piece,
                Track heights);

}  // namespace nightlatch::picture::svg
