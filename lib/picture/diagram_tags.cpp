// SPDX-License-Identifier: MIT
#include "picture/diagram_tags.hpp"

#include <algorithm>
#include <array>
#include <limits>

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
    bool cut = false;  // not all of the text is there
};

/// How much room all tags have in one attempt at placing them.
struct Attempt {
    double share;         // of the style's room
    unsigned more_lines;  // than the style's
};

// Texts have more lines before any is cut, and are cut before any is left out.
constexpr std::array attempts{
    Attempt{1.0, 4}, Attempt{1.0, 1}, Attempt{1.0, 0}, Attempt{0.6, 0}, Attempt{0.35, 0}};

double before_text(const Tag& tag) {
    return text_offset + (tag.kind ? shape_width : 0);
}

/// In lines of at most `room`.
Laid lay(const Tag& tag, Font font, double room, unsigned lines) {
    Laid laid{{}, font, {}};
    const std::string text = safe(tag.text);
    const std::string tail = safe(tag.tail);
    laid.lines = wrapped(text, font, std::max(room - width_of(tail, font), 30.0), lines);
    laid.cut = laid.lines.back().ends_with("\xE2\x80\xA6") && !text.ends_with("\xE2\x80\xA6");
    laid.lines.back() += tail;
    double widest = 0;
    for (const std::string& line : laid.lines) {
        widest = std::max(widest, width_of(line, font));
    }
    laid.size = {
        tag.x, before_text(tag) + widest + room_between, static_cast<unsigned>(laid.lines.size())};
    return laid;
}

Laid lay(const Tag& tag, const TagStyle& style, const Attempt& attempt) {
    const double room = style.room * attempt.share;
    const double to_the_right = std::max(style.right - tag.x - before_text(tag), 60.0);
    // Near the right edge a text is narrower, and has a line more for that.
    const bool narrow = to_the_right < room && style.lines > 1;
    return lay(tag,
               tag.strong ? Font::strong : style.font,
               std::min(room, to_the_right),
               style.lines + attempt.more_lines + (narrow ? 1 : 0));
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

/// Where the next text stands on the lines of text `i`, or passes through them.
double free_from(const std::vector<Tag>& tags,
                 const std::vector<Laid>& all,
                 const std::vector<std::optional<unsigned>>& rows,
                 std::size_t i) {
    for (std::size_t k = i + 1; k < all.size(); ++k) {
        if (rows[k] && *rows[k] + all[k].size.lines > *rows[i]) {
            return tags[k].x - room_between;
        }
    }
    return std::numeric_limits<double>::max();
}

/// A text that was cut reaches as far as nothing is in its way.
void use_free_room(const std::vector<Tag>& tags,
                   std::vector<Laid>& all,
                   const std::vector<std::optional<unsigned>>& rows,
                   double right) {
    for (std::size_t i = 0; i < all.size(); ++i) {
        if (!rows[i] || !all[i].cut) {
            continue;
        }
        const double room =
            std::min(right, free_from(tags, all, rows, i)) - tags[i].x - before_text(tags[i]);
        if (room > all[i].size.width - before_text(tags[i]) - room_between) {
            all[i] = lay(tags[i], all[i].font, room, all[i].size.lines);
        }
    }
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
    // The lines of the grid do not run through the letters.
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
    for (const Attempt& attempt : attempts) {
        all.clear();
        all.reserve(tags.size());
        for (const Tag& tag : tags) {
            all.push_back(lay(tag, style, attempt));
        }
        rows = placed(all, style.all_lines);
        if (missing(rows) == 0) {
            break;
        }
    }
    use_free_room(tags, all, rows, style.right);
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
