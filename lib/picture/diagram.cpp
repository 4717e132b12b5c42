// SPDX-License-Identifier: MIT
#include "picture/diagram.hpp"

#include "picture/diagram_aloud.hpp"
#include "picture/diagram_close_up.hpp"
#include "picture/diagram_cues.hpp"
#include "picture/diagram_events.hpp"
#include "picture/diagram_holds.hpp"
#include "picture/diagram_notes.hpp"
#include "picture/diagram_outputs.hpp"
#include "picture/diagram_tags.hpp"
#include "picture/diagram_text.hpp"
#include "picture/diagram_ticks.hpp"
#include "picture/frame.hpp"

#include <algorithm>

namespace nightlatch::picture {
namespace {

using namespace svg;

constexpr double strip_gap = 22;
constexpr std::size_t longest_title = 1'000;        // bytes
constexpr std::size_t largest_picture = 1'900'000;  // bytes, if shorter texts can make it so

/// The lanes and lists below each other, as they are added.
struct Sheet {
    Svg body;
    double y = 0;
};

/// Everything that is found out once and drawn strip by strip.
struct Parts {
    std::vector<Burst> bursts;
    std::vector<CueBox> boxes;
    std::vector<NumberedRemark> notes;
};

/// A line that says how much of the time is drawn, and that it has one scale.
void add_scale_line(Sheet& sheet, const Plot& plot, bool close_ups_follow) {
    std::string words = "One scale throughout";
    words += close_ups_follow ? ", but for the close-ups" : "";
    if (plot.axis.cuts.empty()) {
        words += "; nothing is left out.";
    } else {
        words += "; " + time_text(plot.axis.drawn()) + " of " + time_text(plot.timeline.end) +
                 " are drawn, " + time_text(plot.axis.left_out()) + " are cut out at " +
                 counted(plot.axis.cuts.size(), "break", "breaks") + ".";
    }
    if (plot.axis.strips > 1) {
        words += " " + counted(plot.axis.strips) + " strips, to be read one after the other.";
    }
    const double room = plot.axis.across.label_right - plot_left;
    for (const std::string& line : wrapped(words, Font::small, room, 4)) {
        sheet.body.text({plot_left, sheet.y + 10}, "s", line);
        sheet.y += 15;
    }
    sheet.y += 5;
}

std::string words_of(const Cut& cut) {
    const std::string length = time_text(cut.time.end - cut.time.begin);
    if (cut.idle) {
        return "\xE2\x80\xA6 " + length + " cut \xE2\x80\xA6";
    }
    std::string missing;
    const auto add = [&](std::size_t count, std::string_view one, std::string_view more) {
        if (count != 0) {
            missing += (missing.empty() ? "" : ", ") + counted(count, one, more);
        }
    };
    add(cut.presses, "press", "presses");
    add(cut.marks, "event", "events");
    if (cut.presses == 0 && cut.marks == 0) {
        add(cut.changes, "change", "changes");
    }
    return "\xE2\x80\xA6 " + missing + " not drawn: " + length + " cut \xE2\x80\xA6";
}

/// What the breaks of this strip leave out, above them.
Lane cut_lane(const Axis& axis, unsigned strip) {
    std::vector<Tag> tags;
    tags.reserve(axis.cuts.size());
    for (const Cut& cut : axis.cuts) {
        if (cut.strip == strip) {
            Tag tag;
            tag.x = cut.left + cut_width / 2;
            tag.text = words_of(cut);
            tag.title = "From " + time_text(cut.time.begin) + " to " + time_text(cut.time.end);
            tags.push_back(std::move(tag));
        }
    }
    const TagBlock block = draw_tags(tags, {Font::small, 250, 2, 40, axis.across.label_right});
    Lane lane;
    lane.height = block.height == 0 ? 0 : block.height + 2;
    lane.tags = block.body;
    return lane;
}

/// From y = 0 down to `height`.
std::string zigzag(double x, double height) {
    const int steps = std::max(2, static_cast<int>(height / 8));
    std::string path = "M" + number(x) + " 0";
    for (int i = 1; i <= steps; ++i) {
        path += "L" + number(x + (i % 2 == 0 ? 0 : 4)) + " " + number(height * i / steps);
    }
    return path;
}

/// Through what a lane draws along the time.
void draw_cut(Svg& svg, const Cut& cut, double top, double bottom) {
    Svg torn;
    torn.rect({cut.left, 0, cut_width, bottom - top}, "page");
    torn.path(zigzag(cut.left - 2, bottom - top), "zig");
    torn.path(zigzag(cut.left + cut_width - 2, bottom - top), "zig");
    svg.add(torn, {0, top});
}

struct Reach {
    double top;
    double bottom;
};

void draw_cuts(Svg& svg, const Axis& axis, unsigned strip, Reach reach) {
    for (const Cut& cut : axis.cuts) {
        if (cut.strip == strip && reach.top < reach.bottom) {
            draw_cut(svg, cut, reach.top, reach.bottom);
        }
    }
}

void draw_name(Svg& svg, const Lane& lane, double top) {
    const bool two = !lane.about.empty();
    const double base = top + (two ? std::max(lane.name_at, 14.0) - 1 : lane.name_at + 4);
    svg.text({margin, base}, "b", lane.name);
    if (two) {
        svg.text({margin, base + 14}, "s", lane.about);
    }
}

std::vector<Lane> lanes_of(const Plot& plot, unsigned strip, const Parts& parts) {
    std::vector<Lane> lanes;
    lanes.reserve(6 + plot.timeline.outputs.size());
    Lane notes = note_lane(strip, parts.notes);
    if (notes.height > 0) {
        lanes.push_back(std::move(notes));
    }
    lanes.push_back(raw_lane(plot, strip, parts.bursts));
    lanes.push_back(settled_lane(plot, strip));
    lanes.push_back(hold_lane(plot, strip));
    lanes.push_back(cue_lane(plot, strip, parts.boxes));
    for (const wave::Output& output : plot.timeline.outputs) {
        lanes.push_back(output_lane(plot, strip, output));
    }
    lanes.push_back(event_lane(plot, strip));
    return lanes;
}

/// What of a strip lies upon what: the later upon the earlier.
struct Layers {
    Svg bands;
    Svg grid;
    Svg seen;
    Svg breaks;
    Svg texts;
};

void draw_grid(Layers& layers, const std::vector<Tick>& ticks, double height) {
    for (const Tick& tick : ticks) {
        if (!tick.text.empty()) {
            layers.grid.line({tick.x, 0}, {tick.x, height}, "grid");
        }
    }
}

/// Gives the lower edge of the lanes.
double draw_lanes(Layers& layers, const Plot& plot, unsigned strip, const Parts& parts) {
    const std::vector<Lane> lanes = lanes_of(plot, strip, parts);
    double top = 0;
    bool band = true;
    for (const Lane& lane : lanes) {
        if (band) {
            layers.bands.rect({margin / 2, top, plot.axis.across.picture - margin, lane.height},
                              "band");
        }
        draw_name(layers.texts, lane, top);
        layers.seen.add(lane.body, {0, top});
        layers.texts.add(lane.tags, {0, top}, band ? "on" : "");
        draw_cuts(layers.breaks, plot.axis, strip, {top + lane.graph_top, top + lane.height});
        top += lane.height;
        band = !band;
    }
    return top;
}

void add_strip(Sheet& sheet, const Plot& plot, unsigned strip, const Parts& parts) {
    const Lane left_out = cut_lane(plot.axis, strip);
    sheet.body.add(left_out.tags, {0, sheet.y});
    sheet.y += left_out.height;
    Layers layers;
    const double height = draw_lanes(layers, plot, strip, parts);
    const std::vector<Tick> ticks = ticks_of(plot, strip);
    draw_grid(layers, ticks, height);
    const Lane axis = axis_lane(plot, strip, ticks);
    draw_name(layers.texts, axis, height);
    layers.seen.add(axis.body, {0, height});
    draw_cuts(layers.breaks, plot.axis, strip, {height, height + 8});
    for (const Svg* layer :
         {&layers.bands, &layers.grid, &layers.seen, &layers.breaks, &layers.texts}) {
        sheet.body.add(*layer, {0, sheet.y});
    }
    sheet.y += height + axis.height + strip_gap;
}

void add_list(Sheet& sheet, const Lane& list, std::string_view name) {
    if (list.height <= 0) {
        return;
    }
    sheet.body.text({margin, sheet.y + 12}, "b", name);
    sheet.body.add(list.body, {0, sheet.y});
    sheet.y += list.height + strip_gap / 2;
}

/// `timeline` is in order.
std::string drawn(const wave::Timeline& timeline, const DiagramTitle& title, const Across& across) {
    const Axis axis = plan_axis(timeline, across);
    const Plot plot{timeline, axis};
    const Parts parts{bursts_of(plot), cue_boxes(plot), notes_of(plot)};
    Sheet sheet;
    sheet.y = draw_heading(sheet.body, title, across);
    for (unsigned strip = 0; strip < axis.strips; ++strip) {
        add_strip(sheet, plot, strip, parts);
    }
    sheet.y -= strip_gap - 4;
    const Lane magnified = close_ups(plot, parts.bursts);
    add_scale_line(sheet, plot, magnified.height > 0);
    const Legend legend = shape_legend(plot);
    sheet.body.add(legend.body, {0, sheet.y});
    sheet.y += legend.height + 6;
    add_list(sheet, note_list(parts.notes, across), "notes");
    add_list(sheet, magnified, "close-ups");
    const Box page{0, 0, across.picture, sheet.y + margin / 2};
    return whole_file(sheet.body, page, {title.title, read_aloud(timeline, title)});
}

}  // namespace

std::string draw_svg(const wave::Timeline& timeline, const DiagramTitle& title, Width width) {
    const Across& across = width == Width::narrow ? narrow_page : wide_page;
    const DiagramTitle short_title{limited(title.title, longest_title),
                                   limited(title.subtitle, longest_title)};
    std::string picture;
    // A tooltip is not for reading books. Thousands of long texts have to be still shorter.
    for (const std::size_t longest : {500U, 80U, 12U}) {
        picture = drawn(in_order(timeline, longest), short_title, across);
        if (picture.size() <= largest_picture) {
            break;
        }
    }
    return picture;
}

}  // namespace nightlatch::picture
