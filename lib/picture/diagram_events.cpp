// SPDX-License-Identifier: MIT
#include "picture/diagram_events.hpp"

#include "picture/diagram_tags.hpp"
#include "picture/diagram_text.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::picture::svg {
namespace {

constexpr double ground = 14;  // height of the strokes
constexpr unsigned most_lines = 16;

std::string told(const wave::Mark& mark) {
    return time_text(mark.at) + ", " + std::string(name_of(mark.kind)) + ": " + mark.text;
}

void add_events(std::vector<Tag>& tags, const Plot& plot, const Piece& piece) {
    for (const wave::Mark& mark : marks_in(plot.timeline, piece)) {
        if (mark.kind == wave::MarkKind::remark) {
            continue;
        }
        Tag tag;
        tag.x = x_of(plot.axis, piece, mark.at);
        tag.text = mark.text;
        tag.title = told(mark);
        tag.kind = mark.kind;
        tags.push_back(std::move(tag));
    }
}

std::vector<Tag> event_tags(const Plot& plot, unsigned strip) {
    std::vector<Tag> tags;
    tags.reserve(64);
    for (const Piece& piece : plot.axis.pieces_of(strip)) {
        add_events(tags, plot, piece);
    }
    return tags;
}

}  // namespace

Lane event_lane(const Plot& plot, unsigned strip) {
    const std::vector<Tag> tags = event_tags(plot, strip);
    const TagBlock block =
        draw_tags(tags, {Font::normal, 190, 3, most_lines, plot.axis.across.label_right});
    Lane lane;
    lane.name = "events";
    lane.about = block.left_out == 0 ? "" : counted(block.left_out, "text", "texts") + " left out";
    lane.height = block.height + ground + 4;
    lane.name_at = lane.height / 2;
    lane.tags.add(block.body, {0, 4});
    lane.graph_top = block.height + 2;
    double last = -1;
    for (const Tag& tag : tags) {
        if (tag.x >= last + 1) {
            lane.body.line({tag.x, block.height + 2}, {tag.x, lane.height}, "edge");
            last = tag.x;
        }
    }
    return lane;
}

Legend shape_legend(const Plot& plot) {
    std::array<bool, 7> seen{};
    for (const wave::Mark& mark : plot.timeline.marks) {
        seen[static_cast<std::size_t>(mark.kind)] = true;
    }
    Legend legend;
    double x = plot_left;
    for (std::size_t i = 0; i < seen.size(); ++i) {
        const auto kind = static_cast<wave::MarkKind>(i);
        if (!seen[i] || kind == wave::MarkKind::remark) {
            continue;
        }
        const double width = 15 + width_of(name_of(kind), Font::small);
        if (legend.height == 0 || x + width > plot.axis.across.label_right) {
            x = plot_left;
            legend.height += 20;
        }
        draw_shape(legend.body, kind, {x + 5, legend.height - 12});
        legend.body.text({x + 15, legend.height - 8}, "s", name_of(kind));
        x += width + 22;
    }
    return legend;
}

}  // namespace nightlatch::picture::svg
