// SPDX-License-Identifier: MIT
#pragma once

#include "picture/diagram_moments.hpp"

#include <span>
#include <vector>

namespace nightlatch::picture::svg {

/// Where things are across each picture, in its units.
constexpr double plot_left = 124;
constexpr double cut_width = 34;

/// Where they end.
struct Across {
    double picture = 1200;
    double plot_right = 1060;  ///< labels may reach further, up to label_right
    double label_right = 1190;
};

constexpr Across wide_page{};
/// On a phone of 390 points the smallest letters are 8 points high.
constexpr Across narrow_page{536, 410, 530};

/// A stretch of time that is drawn, as a whole, in one strip. Strips are what lines are to a text:
/// the picture goes on below when there is no more room to the right.
struct Piece {
    Span time;
    unsigned strip = 0;
    double left = 0;
    double right = 0;
};

/// A stretch of time that is left out, drawn as a break.
struct Cut {
    Span time;
    unsigned strip = 0;
    double left = 0;
    bool idle = true;  ///< nothing happens in it; else these are not drawn:
    std::size_t presses = 0;
    std::size_t marks = 0;
    std::size_t changes = 0;  ///< of levels and cues
};

/// Pieces and cuts take turns, without a gap and without an overlap, from 0 to the timeline's end.
struct Axis {
    double per_second = 1;  ///< units of the picture: one scale for all that is drawn
    unsigned strips = 1;
    std::vector<Piece> pieces;
    std::vector<Cut> cuts;
    Across across;

    [[nodiscard]] std::span<const Piece> pieces_of(unsigned strip) const;
    /// How long is drawn, and how long is left out.
    [[nodiscard]] Duration drawn() const;
    [[nodiscard]] Duration left_out() const;
};

/// Where `at`, which lies in the piece, is drawn.
double x_of(const Axis& axis, const Piece& piece, Duration at);

/// The marks that the piece shows: each mark that is drawn is shown by one piece only.
std::span<const wave::Mark> marks_in(const wave::Timeline& timeline, const Piece& piece);

/// `timeline` is in order.
Axis plan_axis(const wave::Timeline& timeline, const Across& across = wide_page);

}  // namespace nightlatch::picture::svg
