// SPDX-License-Identifier: MIT
#include "picture/diagram_holds.hpp"

#include "picture/diagram_tags.hpp"
#include "picture/diagram_text.hpp"

#include <algorithm>

namespace nightlatch::picture::svg {
namespace {

constexpr double step_height = 13;
constexpr double least_height = 20;
constexpr double most_height = 66;
constexpr double below = 8;

/// Heights of a strip's wedges: `base` is the ground line.
struct Slope {
    double base = 0;
    double step = 0;
};

Slope slope_of(const std::vector<wave::Threshold>& stages) {
    const auto steps = static_cast<double>(std::max<std::size_t>(stages.size(), 1));
    const double height = std::clamp(steps * step_height, least_height, most_height);
    return {height + 6, height / steps};
}

/// What of a hold a piece shows.
struct Part {
    const wave::Hold& hold;
    Span seen;
};

std::vector<Part> parts_in(const wave::Timeline& timeline, const Piece& piece) {
    std::vector<Part> parts;
    parts.reserve(16);
    for (const wave::Hold& hold : timeline.holds) {
        const Span seen{std::max(hold.begin, piece.time.begin), std::min(hold.end, piece.time.end)};
        const bool point = seen.begin == seen.end && hold.begin == hold.end;
        if (seen.begin < seen.end || point) {
            parts.push_back({hold, seen});
        }
    }
    return parts;
}

std::string corner(const Plot& plot, const Piece& piece, const Part& part, Duration at) {
    const Slope slope = slope_of(plot.timeline.thresholds);
    const double up = steps_climbed(plot.timeline.thresholds, at - part.hold.begin);
    return number(x_of(plot.axis, piece, at)) + " " + number(slope.base - up * slope.step);
}

void draw_wedge(Svg& svg, const Plot& plot, const Piece& piece, const Part& part) {
    const Slope slope = slope_of(plot.timeline.thresholds);
    const double left = x_of(plot.axis, piece, part.seen.begin);
    const double right = x_of(plot.axis, piece, part.seen.end);
    std::string path = "M" + number(left) + " " + number(slope.base);
    path += "L" + corner(plot, piece, part, part.seen.begin);
    for (const wave::Threshold& stage : plot.timeline.thresholds) {
        const Duration held = part.seen.end - part.hold.begin;
        if (stage.hold < held && part.hold.begin + stage.hold > part.seen.begin) {
            path += "L" + corner(plot, piece, part, part.hold.begin + stage.hold);
        }
    }
    path += "L" + corner(plot, piece, part, part.seen.end);
    path += "L" + number(std::max(right, left + 1)) + " " + number(slope.base) + "Z";
    svg.path(path, "edge held");
}

void add_tags(std::vector<Tag>& tags, const Plot& plot, const Piece& piece, const Part& part) {
    const wave::Hold& hold = part.hold;
    const auto seen = [&](Duration at) {
        return at >= part.seen.begin && at <= part.seen.end &&
               (at < piece.time.end || at == plot.timeline.end || at == hold.end);
    };
    for (const wave::Threshold& stage : plot.timeline.thresholds) {
        if (stage.hold > hold.end - hold.begin || !seen(hold.begin + stage.hold)) {
            continue;
        }
        Tag tag;
        tag.x = x_of(plot.axis, piece, hold.begin + stage.hold);
        tag.text = stage.name;
        tag.tail = " " + time_text(stage.hold);
        tag.title = "Stage " + stage.name + " (" + stage.action + ") reached at " +
                    time_text(hold.begin + stage.hold) + ", after " + time_text(stage.hold);
        tags.push_back(std::move(tag));
    }
    if (hold.end > piece.time.end) {
        return;
    }
    const bool lasts = hold.end == plot.timeline.end;
    Tag tag;
    tag.x = x_of(plot.axis, piece, hold.end);
    tag.text = (lasts ? "held so far " : "held ") + time_text(hold.end - hold.begin);
    tag.title = "Held from " + time_text(hold.begin) + " to " + time_text(hold.end);
    tag.strong = true;
    tags.push_back(std::move(tag));
}

/// How many holds are not drawn because they end within one unit of another.
std::size_t draw_holds(Svg& svg, std::vector<Tag>& tags, const Plot& plot, const Piece& piece) {
    std::size_t left_out = 0;
    double last = piece.left - 1;  // where the last wedge ends
    for (const Part& part : parts_in(plot.timeline, piece)) {
        const double end = x_of(plot.axis, piece, part.seen.end);
        if (end < last + 1) {
            ++left_out;
            continue;
        }
        draw_wedge(svg, plot, piece, part);
        add_tags(tags, plot, piece, part);
        last = end;
    }
    return left_out;
}

/// A dashed line for each stage, as far as the tag of the wedge reaches up.
void draw_ticks(Svg& svg, const std::vector<Tag>& tags, const Slope& slope) {
    double last = -1;
    for (const Tag& tag : tags) {
        if (tag.x >= last + 0.5) {
            svg.line({tag.x, -3}, {tag.x, slope.base}, tag.strong ? "lead" : "lead dash");
            last = tag.x;
        }
    }
}

}  // namespace

double steps_climbed(const std::vector<wave::Threshold>& stages, Duration held) noexcept {
    if (stages.empty()) {
        return 0.5;
    }
    Duration reached{};
    double steps = 0;
    for (const wave::Threshold& stage : stages) {
        if (held < stage.hold) {
            return steps + seconds(held - reached) / seconds(stage.hold - reached);
        }
        reached = stage.hold;
        ++steps;
    }
    return steps;
}

Lane hold_lane(const Plot& plot, unsigned strip) {
    const Slope slope = slope_of(plot.timeline.thresholds);
    Svg wedges;
    std::vector<Tag> tags;
    tags.reserve(16);
    std::size_t left_out = 0;
    for (const Piece& piece : plot.axis.pieces_of(strip)) {
        wedges.line({piece.left, slope.base}, {piece.right, slope.base}, "axis");
        left_out += draw_holds(wedges, tags, plot, piece);
    }
    std::stable_sort(
        tags.begin(), tags.end(), [](const Tag& a, const Tag& b) { return a.x < b.x; });
    draw_ticks(wedges, tags, slope);
    const TagBlock block = draw_tags(tags, {Font::small, 150, 1, 8, plot.axis.across.label_right});
    Lane lane;
    lane.name = "hold";
    left_out += block.left_out;
    lane.about =
        left_out == 0 ? "stage by stage" : counted(left_out, "text", "texts") + " left out";
    lane.tags.add(block.body, {0, 2});
    lane.body.add(wedges, {0, block.height});
    lane.graph_top = block.height;
    lane.height = block.height + slope.base + below;
    lane.name_at = lane.height - below - slope.base / 2;
    return lane;
}

}  // namespace nightlatch::picture::svg
