// SPDX-License-Identifier: MIT
#pragma once

#include "picture/diagram_axis.hpp"
#include "picture/diagram_text.hpp"
#include "picture/svg.hpp"
#include "wave/timeline.hpp"

#include <optional>
#include <span>
#include <string>
#include <vector>

namespace nightlatch::picture::svg {

/// Tags are short texts above a lane. Each has an anchor in the lane and a leader line that goes
/// straight up from it; the text stands to the right of the leader's upper end.

struct TagSize {
    double x = 0;      ///< of the anchor
    double width = 0;  ///< from the anchor to the end of the text and a little room
    unsigned lines = 1;
};

/// How many lines each tag's last line stands above the anchors: such that no text meets another
/// text or a leader. Nothing for a tag that would begin above `most_lines`. The tags are in
/// ascending order of x. Read from above, tags that crowd each other are in the order of time.
std::vector<std::optional<unsigned>> place(std::span<const TagSize> tags, unsigned most_lines);

struct Tag {
    double x = 0;
    std::string text;   ///< made to fit where there is little room
    std::string tail;   ///< stands behind it whatever the room: " 3 s"
    std::string title;  ///< the whole story, for the pointer and for screen readers
    std::optional<wave::MarkKind> kind;  ///< its shape goes before the text
    bool strong = false;
};

struct TagStyle {
    Font font = Font::small;
    double room = 190;       ///< for the text; one that does not fit has what is free
    unsigned lines = 1;      ///< of one tag; a few more where that leaves room for all
    unsigned all_lines = 8;  ///< one above the other, at most
    double right = wide_page.label_right;
};

struct TagBlock {
    Svg body;  ///< its lower edge, to which the leaders go, is at `height`
    double height = 0;
    std::size_t left_out = 0;  ///< tags for which there was no place
    std::vector<Box> texts;    ///< where the texts are
};

/// `tags` are in ascending order of x.
TagBlock draw_tags(const std::vector<Tag>& tags, const TagStyle& style);

/// The shape by which a kind of mark is known, about 9 units in size.
void draw_shape(Svg& svg, wave::MarkKind kind, Point centre);

std::string_view name_of(wave::MarkKind kind) noexcept;

}  // namespace nightlatch::picture::svg
