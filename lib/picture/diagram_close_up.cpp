// SPDX-License-Identifier: MIT
#include "picture/diagram_close_up.hpp"

#include "picture/diagram_text.hpp"
#include "picture/diagram_ticks.hpp"

#include <algorithm>
#include <cmath>

namespace nightlatch::picture::svg {
namespace {

using namespace std::chrono_literals;

constexpr double gap = 22;
constexpr double panel_height = 98;

/// Three beside each other, or one where a page is narrow.
unsigned columns_of(const Across& across) {
    return across.picture < wide_page.picture ? 1 : 3;
}

double panel_width(const Across& across) {
    const unsigned columns = columns_of(across);
    return (across.label_right - plot_left - gap * (columns - 1)) / columns;
}

/// The burst with a little before and after it, across the panel.
Piece piece_of(const Plot& plot, const Burst& burst) {
    const Duration around = std::max<Duration>((burst.time.end - burst.time.begin) / 8, 1us);
    Piece piece;
    piece.time = {std::max(burst.time.begin - around, Duration::zero()),
                  std::min(burst.time.end + around, plot.timeline.end)};
    piece.left = 10;
    piece.right = panel_width(plot.axis.across) - 10;
    return piece;
}

/// Ticks count from the burst's first edge: how long a contact bounces is what one wants to read.
void draw_scale(Svg& svg, const Burst& burst, const Piece& piece, double per_second) {
    wave::Timeline only;
    only.end = piece.time.end - burst.time.begin;
    Axis axis;
    axis.per_second = per_second;
    const double zero = piece.left + seconds(burst.time.begin - piece.time.begin) * per_second;
    axis.pieces = {{{Duration::zero(), only.end}, 0, zero, piece.right}};
    svg.line({piece.left, 74}, {piece.right, 74}, "axis");
    for (const Tick& tick : ticks_of({only, axis}, 0)) {
        const bool told = !tick.text.empty();
        svg.line({tick.x, 74}, {tick.x, told ? 80.0 : 77.0}, "axis");
        const double half = width_of(tick.text, Font::small) / 2;
        if (told && tick.x + half < piece.right + 8) {
            svg.text({tick.x, 91}, "s mid", tick.at == Duration::zero() ? "0" : tick.text);
        }
    }
}

Svg panel(const Plot& plot, const Burst& burst) {
    Svg svg;
    const Piece piece = piece_of(plot, burst);
    const double width = panel_width(plot.axis.across);
    const double length = seconds(piece.time.end - piece.time.begin);
    const double per_second = (piece.right - piece.left) / std::max(length, 1e-9);
    svg.rect({0, 0, width, panel_height}, "box");
    const std::string letter(1, burst.letter);
    svg.text({10, 17}, "b", letter);
    const std::string words = "raw line from " + time_text(burst.time.begin) + ": " +
                              counted(burst.edges, "edge", "edges") + ", magnified " +
                              number(std::round(per_second / plot.axis.per_second)) + "\xC3\x97";
    svg.text({26, 17}, "s", shortened(words, Font::small, width - 30));
    draw_level(svg, plot.timeline.raw, piece, {32, 64});
    draw_scale(svg, burst, piece, per_second);
    return svg;
}

}  // namespace

Lane close_ups(const Plot& plot, std::span<const Burst> bursts) {
    Lane lane;
    const unsigned columns = columns_of(plot.axis.across);
    const double step = panel_width(plot.axis.across) + gap;
    unsigned count = 0;
    for (const Burst& burst : bursts) {
        if (burst.letter == 0) {
            continue;
        }
        const unsigned row = count / columns;
        lane.body.add(panel(plot, burst),
                      {plot_left + step * (count % columns), row * (panel_height + 12)});
        lane.height = (row + 1) * (panel_height + 12);
        ++count;
    }
    return lane;
}

}  // namespace nightlatch::picture::svg
