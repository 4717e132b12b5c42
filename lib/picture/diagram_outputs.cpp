// SPDX-License-Identifier: MIT
#include "picture/diagram_outputs.hpp"

#include "picture/diagram_levels.hpp"
#include "picture/diagram_tags.hpp"
#include "picture/diagram_text.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::picture::svg {
namespace {

constexpr Track light{6, 24};
constexpr double output_height = 30;
constexpr double finest_period = 5;  // units

/// A look and how long it lasts.
struct Shown {
    const wave::LookChange& look;
    Span time;
};

/// The looks that `seen` shows something of.
std::vector<Shown> shown_in(const wave::Output& output, Span seen) {
    std::vector<Shown> shown;
    shown.reserve(output.looks.size());
    for (std::size_t i = 0; i < output.looks.size(); ++i) {
        const wave::LookChange& look = output.looks[i];
        const Duration end = i + 1 < output.looks.size() ? output.looks[i + 1].at : seen.end;
        const Span part{std::max(look.at, seen.begin), std::min(end, seen.end)};
        if (part.begin < part.end) {
            shown.push_back({look, part});
        }
    }
    return shown;
}

bool too_fine(const wave::LookChange& look, Duration finest) {
    return look.repeats && (look.on + look.off < finest || look.on + look.off <= Duration::zero());
}

/// `length` after `at`, or `end` if that is sooner; without an overflow.
Duration later(Duration at, Duration length, Duration end) {
    return end - at < length ? end : at + length;
}

/// Once on, then off.
void add_once(std::vector<wave::LevelChange>& levels, const Shown& shown) {
    const Duration dark = later(shown.look.at, shown.look.on, shown.time.end);
    if (dark > shown.time.begin) {
        levels.push_back({shown.time.begin, Level::active});
    }
    if (dark < shown.time.end) {
        levels.push_back({std::max(dark, shown.time.begin), Level::inactive});
    }
}

void add_blink(std::vector<wave::LevelChange>& levels, const Shown& shown) {
    const wave::LookChange& look = shown.look;
    const Duration period = look.on + look.off;
    Duration lit = look.at + (shown.time.begin - look.at) / period * period;
    for (; lit < shown.time.end; lit = later(lit, period, shown.time.end)) {
        const Duration dark = later(lit, look.on, shown.time.end);
        if (dark > shown.time.begin) {
            levels.push_back({std::max(lit, shown.time.begin), Level::active});
        }
        if (dark < shown.time.end) {
            levels.push_back({std::max(dark, shown.time.begin), Level::inactive});
        }
    }
}

Duration finest_of(const Plot& plot) {
    return std::chrono::duration_cast<Duration>(
        std::chrono::duration<double>(finest_period / plot.axis.per_second));
}

void draw_piece(Svg& svg, const Plot& plot, const Piece& piece, const wave::Output& output) {
    const Duration finest = finest_of(plot);
    for (const Shown& shown : shown_in(output, piece.time)) {
        if (too_fine(shown.look, finest)) {
            const double left = x_of(plot.axis, piece, shown.time.begin);
            const double right = x_of(plot.axis, piece, shown.time.end);
            svg.rect({left, light.high, std::max(right - left, 1.0), light.low - light.high},
                     "f-dense");
        }
    }
    draw_level(svg, levels_in(output, piece.time, finest), piece, light);
}

Tag tag_of(const Shown& shown, double x, const std::string& name) {
    Tag tag;
    tag.x = x;
    tag.text = shown.look.look;
    tag.title = name + ": " + shown.look.look + ", from " + time_text(shown.look.at);
    return tag;
}

/// The lit looks that no earlier piece showed. `told`: the last look that one showed.
std::vector<Shown> new_in(const Piece& piece,
                          const wave::Output& output,
                          const wave::LookChange*& told) {
    std::vector<Shown> found;
    for (const Shown& shown : shown_in(output, piece.time)) {
        const bool is_new = std::exchange(told, &shown.look) != &shown.look;
        if (is_new && shown.look.on != Duration::zero()) {
            found.push_back(shown);
        }
    }
    return found;
}

/// Each look is told in the first piece that shows it.
std::vector<Tag> look_tags(const Plot& plot, unsigned strip, const wave::Output& output) {
    std::vector<Tag> tags;
    const wave::LookChange* told = nullptr;
    for (const Piece& piece : plot.axis.pieces) {
        const std::vector<Shown> found = new_in(piece, output, told);
        if (piece.strip != strip) {
            continue;
        }
        for (const Shown& shown : found) {
            tags.push_back(tag_of(shown, x_of(plot.axis, piece, shown.time.begin), output.name));
        }
    }
    return tags;
}

}  // namespace

std::vector<wave::LevelChange> levels_in(const wave::Output& output, Span seen, Duration finest) {
    std::vector<wave::LevelChange> levels{{seen.begin, Level::inactive}};
    for (const Shown& shown : shown_in(output, seen)) {
        const bool dark = shown.look.on == Duration::zero() || too_fine(shown.look, finest);
        if (dark) {
            levels.push_back({shown.time.begin, Level::inactive});
        } else if (shown.look.repeats) {
            add_blink(levels, shown);
        } else {
            add_once(levels, shown);
        }
    }
    return levels;
}

Lane output_lane(const Plot& plot, unsigned strip, const wave::Output& output) {
    const TagBlock block = draw_tags(look_tags(plot, strip, output),
                                     {Font::small, 150, 1, 6, plot.axis.across.label_right});
    Svg drawn;
    for (const Piece& piece : plot.axis.pieces_of(strip)) {
        draw_piece(drawn, plot, piece, output);
    }
    const double room = plot_left - margin_of_names;
    const double top = block.height == 0 ? 0 : block.height - 2;
    Lane lane;
    lane.name = shortened(safe(output.name), Font::strong, room);
    lane.about = shortened(safe(output.about) + ", up: on", Font::small, room);
    lane.tags.add(block.body, {0, 4});
    lane.body.add(drawn, {0, top + 2});
    lane.graph_top = top + 5;
    lane.height = top + output_height + 4;
    lane.name_at = top + output_height / 2;
    return lane;
}

}  // namespace nightlatch::picture::svg
