// SPDX-License-Identifier: MIT
#include "picture/diagram_tags.hpp"

#include "picture/diagram_axis.hpp"

#include <algorithm>

namespace nightlatch::picture::svg {
namespace {

constexpr double tag_line = 14;
constexpr double text_offset = 4;  // from the leader to the text
constexpr double shape_width = 15;
constexpr double room_between = 8;  // from a text's end to the next leader

struct Laid {
    TagSize size;
    Font font;
    std::vector<std::string> lines;
};

Laid lay(const Tag& tag, const TagStyle& style) {
    const Font font = tag.strong ? Font::strong : style.font;
    const double before = text_offset + (tag.kind ? shape_width : 0);
    const double to_the_right = label_right - tag.x - before;
    // Near the right edge a text is narrower, and has a line more for that.
    const bool narrow = to_the_right < style.room;
    Laid laid{{}, font, {}};
    laid.lines = wrapped(safe(tag.text),
                         font,
                         std::min(style.room, std::max(to_the_right, 60.0)),
                         style.lines + (narrow && style.lines > 1 ? 1 : 0));
    double widest = 0;
    for (const std::string& line : laid.lines) {
        widest = std::max(widest, width_of(line, font));
    }
    laid.size = {tag.x, before + widest + room_between, static_cast<unsigned>(laid.lines.size())};
    return laid;
}

/// Lines that `draw_tags` may write before it gives a tag up.
std::vector<std::optional<unsigned>> placed(const std::vector<Laid>& all, unsigned most) {
    std::vector<TagSize> sizes;
    sizes.reserve(all.size());
    for (const Laid& laid : all) {
        sizes.push_back(laid.size);
    }
    return place(sizes, most);
}

std::size_t missing(const std::vector<std::optional<unsigned>>& rows) {
    return static_cast<std::size_t>(std::count(rows.begin(), rows.end(), std::nullopt));
}

std::string look_of(const Tag& tag, Font font) {
    const std::string look = tag.strong ? "b" : (font == Font::small ? "s" : "t");
    return tag.kind == wave::MarkKind::trouble ? look + " alarm" : look;
}

/// `row`: the line above the anchors on which its last line stands.
void draw_tag(TagBlock& block, const Tag& tag, const Laid& laid, unsigned row) {
    const double top = block.height - 3 - tag_line * (row + laid.size.lines);
    block.body.begin_group(tag.title);
    block.body.line({tag.x, top + 3}, {tag.x, block.height}, "lead");
    double x = tag.x + text_offset;
    // Breaks and lines of the grid do not run through the letters.
    block.body.rect(
        {tag.x + 1.5, top + 0.5, laid.size.width - room_between, tag_line * laid.size.lines - 1},
        "plate");
    if (tag.kind) {
        draw_shape(block.body, *tag.kind, {x + 5, top + 7.5});
        x += shape_width;
    }
    for (std::size_t i = 0; i < laid.lines.size(); ++i) {
        const double base = top + tag_line * static_cast<double>(i) + 11;
        block.body.text({x, base}, look_of(tag, laid.font), laid.lines[i]);
    }
    block.body.end_group();
    block.texts.push_back(
        {tag.x + 1, top, laid.size.width - room_between - 1, tag_line * laid.size.lines});
}

}  // namespace

std::vector<std::optional<unsigned>> place(std::span<const TagSize> tags, unsigned most_lines) {
    struct Taken {
        double x = 0;
        unsigned above = 0;  // the first line above it
    };

    std::vector<std::optional<unsigned>> rows(tags.size());
    std::vector<Taken> taken;  // those to the right, the nearest last
    taken.reserve(tags.size());
    for (std::size_t i = tags.size(); i-- > 0;) {
        const TagSize& tag = tags[i];
        unsigned row = 0;
        for (std::size_t k = taken.size(); k-- > 0 && taken[k].x <= tag.x + tag.width;) {
            row = std::max(row, taken[k].above);
        }
        if (row + tag.lines <= most_lines) {
            rows[i] = row;
            taken.push_back({tag.x, row + tag.lines});
        }
    }
    return rows;
}

TagBlock draw_tags(const std::vector<Tag>& tags, const TagStyle& style) {
    std::vector<Laid> all;
    std::vector<std::optional<unsigned>> rows;
    // Texts are made shorter before any is left out.
    for (const double share : {1.0, 0.6, 0.35}) {
        TagStyle tried = style;
        tried.room = style.room * share;
        all.clear();
        all.reserve(tags.size());
        for (const Tag& tag : tags) {
            all.push_back(lay(tag, tried));
        }
        rows = placed(all, style.all_lines);
        if (missing(rows) == 0) {
            break;
        }
    }
    TagBlock block;
    block.left_out = missing(rows);
    unsigned most = 0;
    for (std::size_t i = 0; i < all.size(); ++i) {
        most = std::max(most, rows[i] ? *rows[i] + all[i].size.lines : 0);
    }
    block.height = most == 0 ? 0 : most * tag_line + 3;
    block.texts.reserve(all.size());
    for (std::size_t i = 0; i < all.size(); ++i) {
        if (rows[i]) {
            draw_tag(block, tags[i], all[i], *rows[i]);
        }
    }
    return block;
}

void draw_shape(Svg& svg, wave::MarkKind kind, Point centre) {
    const std::string at = "M" + number(centre.x) + " " + number(centre.y);
    switch (kind) {
    case wave::MarkKind::remark:
        svg.circle(centre, 4.5, "out hollow");
        return;
    case wave::MarkKind::decision:
        svg.path(at + "m0 -5l5 5 -5 5 -5 -5z", "dot");
        return;
    case wave::MarkKind::request:
        svg.path(at + "m-5 -5l10 5 -10 5z", "dot");
        return;
    case wave::MarkKind::answer:
        svg.path(at + "m5 -4.5l-9 4.5 9 4.5z", "out hollow");
        return;
    case wave::MarkKind::trouble:
        svg.path(at + "m0 -5.5l5.5 10h-11z", "out hollow");
        svg.path(at + "m0 -2v3.4m0 1v1.4", "out");
        return;
    case wave::MarkKind::service:
        svg.path(at + "m-4 -4h8v8h-8z", "out hollow");
        return;
    case wave::MarkKind::info:
        svg.circle(centre, 2.5, "dot");
        return;
    }
}

std::string_view name_of(wave::MarkKind kind) noexcept {
    switch (kind) {
    case wave::MarkKind::remark:
        return "remark";
    case wave::MarkKind::decision:
        return "decision";
    case wave::MarkKind::request:
        return "request";
    case wave::MarkKind::answer:
        return "answer";
    case wave::MarkKind::trouble:
        return "trouble";
    case wave::MarkKind::service:
        return "service";
    case wave::MarkKind::info:
        return "information";
    }
    return "";
}

}  // namespace nightlatch::picture::svg
