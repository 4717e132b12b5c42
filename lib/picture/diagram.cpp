// SPDX-License-Identifier: MIT
#include "picture/diagram.hpp"

#include "picture/diagram_close_up.hpp"
#include "picture/diagram_cues.hpp"
#include "picture/diagram_events.hpp"
#include "picture/diagram_holds.hpp"
#include "picture/diagram_notes.hpp"
#include "picture/diagram_palette.hpp"
#include "picture/diagram_tags.hpp"
#include "picture/diagram_text.hpp"
#include "picture/diagram_ticks.hpp"

#include <algorithm>

namespace nightlatch::picture {
namespace {

using namespace svg;

constexpr double page_margin = 14;
constexpr double strip_gap = 22;
constexpr std::size_t marks_described = 40;
constexpr std::size_t longest_title = 1'000;        // bytes
constexpr std::size_t largest_picture = 1'900'000;  // bytes, if shorter texts can make it so

/// The lanes and lists below each other, as they are added.
struct Sheet {
    Svg body;
    double y = page_margin;
};

/// Everything that is found out once and drawn strip by strip.
struct Parts {
    std::vector<Burst> bursts;
    std::vector<CueBox> boxes;
    std::vector<NumberedRemark> notes;
};

void add_heading(Sheet& sheet, const DiagramTitle& title) {
    const double room = picture_width - 2 * page_margin;
    sheet.body.text(
        {page_margin, sheet.y + 18}, "h", shortened(safe(title.title), Font::heading, room));
    sheet.y += 28;
    if (!title.subtitle.empty()) {
        for (const std::string& line : wrapped(safe(title.subtitle), Font::normal, room, 3)) {
            sheet.body.text({page_margin, sheet.y + 13}, "t", line);
            sheet.y += 18;
        }
    }
    sheet.y += 6;
}

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
    sheet.body.text({plot_left, sheet.y + 10}, "s", words);
    sheet.y += 20;
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
    const TagBlock block = draw_tags(tags, {Font::small, 250, 2, 40});
    Lane lane;
    lane.height = block.height == 0 ? 0 : block.height + 2;
    lane.tags = block.body;
    return lane;
}

std::string zigzag(double x, double height) {
    constexpr unsigned step = 8;
    std::string path = "M" + number(x) + " 0";
    const auto whole = static_cast<unsigned>(height / step);
    for (unsigned i = 0; i < whole; ++i) {
        path += i % 2 == 0 ? "l4 8" : "l-4 8";
    }
    return path;
}

void draw_cut(Svg& svg, const Cut& cut, double height) {
    svg.rect({cut.left, 0, cut_width, height}, "page");
    svg.path(zigzag(cut.left - 2, height), "zig");
    svg.path(zigzag(cut.left + cut_width - 2, height), "zig");
}

void draw_name(Svg& svg, const Lane& lane, double top) {
    const bool two = !lane.about.empty();
    const double base = top + (two ? std::max(lane.name_at, 14.0) - 1 : lane.name_at + 4);
    svg.text({page_margin, base}, "b", lane.name);
    if (two) {
        svg.text({page_margin, base + 14}, "s", lane.about);
    }
}

std::vector<Lane> lanes_of(const Plot& plot, unsigned strip, const Parts& parts) {
    std::vector<Lane> lanes;
    lanes.reserve(6);
    Lane notes = note_lane(strip, parts.notes);
    if (notes.height > 0) {
        lanes.push_back(std::move(notes));
    }
    lanes.push_back(raw_lane(plot, strip, parts.bursts));
    lanes.push_back(settled_lane(plot, strip));
    lanes.push_back(hold_lane(plot, strip));
    lanes.push_back(cue_lane(plot, strip, parts.boxes));
    lanes.push_back(event_lane(plot, strip));
    return lanes;
}

double height_of(const std::vector<Lane>& lanes) {
    double height = 0;
    for (const Lane& lane : lanes) {
        height += lane.height;
    }
    return height;
}

/// Bands, the grid, what is seen, the breaks through all of it, and the texts over them.
void add_strip(Sheet& sheet, const Plot& plot, unsigned strip, const Parts& parts) {
    const Lane left_out = cut_lane(plot.axis, strip);
    const std::vector<Lane> lanes = lanes_of(plot, strip, parts);
    const std::vector<Tick> ticks = ticks_of(plot, strip);
    const double height = height_of(lanes);
    const Lane axis = axis_lane(plot, strip, ticks);
    sheet.body.add(left_out.tags, {0, sheet.y});
    sheet.y += left_out.height;
    Svg grid;
    for (const Tick& tick : ticks) {
        if (!tick.text.empty()) {
            grid.line({tick.x, 0}, {tick.x, height}, "grid");
        }
    }
    Svg bands;
    Svg seen;
    Svg texts;
    double top = 0;
    for (std::size_t i = 0; i < lanes.size(); ++i) {
        const bool band = i % 2 == 0;
        if (band) {
            bands.rect({page_margin / 2, top, picture_width - page_margin, lanes[i].height},
                       "band");
        }
        draw_name(texts, lanes[i], top);
        seen.add(lanes[i].body, {0, top});
        texts.add(lanes[i].tags, {0, top}, band ? "on" : "");
        top += lanes[i].height;
    }
    draw_name(texts, axis, height);
    seen.add(axis.body, {0, height});
    Svg breaks;
    for (const Cut& cut : plot.axis.cuts) {
        if (cut.strip == strip) {
            draw_cut(breaks, cut, height + 8);
        }
    }
    for (const Svg* layer : {&bands, &grid, &seen, &breaks, &texts}) {
        sheet.body.add(*layer, {0, sheet.y});
    }
    sheet.y += height + axis.height + strip_gap;
}

void add_list(Sheet& sheet, const Lane& list, std::string_view name) {
    if (list.height <= 0) {
        return;
    }
    sheet.body.text({page_margin, sheet.y + 12}, "b", name);
    sheet.body.add(list.body, {0, sheet.y});
    sheet.y += list.height + strip_gap / 2;
}

std::string description(const wave::Timeline& timeline) {
    std::string text = "A timing diagram of " + time_text(timeline.end) + " with " +
                       counted(timeline.holds.size(), "press", "presses") + ".";
    std::size_t told = 0;
    for (const wave::Mark& mark : timeline.marks) {
        if (told == marks_described) {
            text += " And " + counted(timeline.marks.size() - told) + " more.";
            break;
        }
        text += " At " + time_text(mark.at) + ", " + std::string(name_of(mark.kind)) + ": " +
                mark.text + ".";
        ++told;
    }
    return text;
}

/// `timeline` is in order.
std::string drawn(const wave::Timeline& timeline, const DiagramTitle& title) {
    const Axis axis = plan_axis(timeline);
    const Plot plot{timeline, axis};
    const Parts parts{bursts_of(plot), cue_boxes(plot), notes_of(plot)};
    Sheet sheet;
    add_heading(sheet, title);
    for (unsigned strip = 0; strip < axis.strips; ++strip) {
        add_strip(sheet, plot, strip, parts);
    }
    sheet.y -= strip_gap - 4;
    const Lane magnified = close_ups(plot, parts.bursts);
    add_scale_line(sheet, plot, magnified.height > 0);
    const Legend legend = shape_legend(timeline);
    sheet.body.add(legend.body, {0, sheet.y});
    sheet.y += legend.height + 6;
    add_list(sheet, note_list(parts.notes), "notes");
    add_list(sheet, magnified, "close-ups");
    const std::string width = number(picture_width);
    const std::string height = number(sheet.y + page_margin / 2);
    std::string out = "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"nightlatch\" role=\"img\" "
                      "width=\"" +
                      width + "\" height=\"" + height + "\" viewBox=\"0 0 " + width + " " + height +
                      "\">\n";
    out += "<title>" + escaped(title.title) + "</title>\n";
    out += "<desc>" + escaped(title.subtitle + " " + description(timeline)) + "</desc>\n";
    out += style_and_patterns();
    out += "<rect class=\"page\" width=\"" + width + "\" height=\"" + height + "\"/>\n";
    return out + sheet.body.str() + "</svg>\n";
}

}  // namespace

std::string draw_svg(const wave::Timeline& timeline, const DiagramTitle& title) {
    const DiagramTitle short_title{limited(title.title, longest_title),
                                   limited(title.subtitle, longest_title)};
    std::string picture;
    // A tooltip is not for reading books. Thousands of long texts have to be still shorter.
    for (const std::size_t longest : {500U, 80U, 12U}) {
        picture = drawn(in_order(timeline, longest), short_title);
        if (picture.size() <= largest_picture) {
            break;
        }
    }
    return picture;
}

}  // namespace nightlatch::picture
