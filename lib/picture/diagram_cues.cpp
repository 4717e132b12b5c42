// SPDX-License-Identifier: MIT
#include "picture/diagram_cues.hpp"

#include "picture/diagram_tags.hpp"
#include "picture/diagram_text.hpp"

#include <algorithm>
#include <array>
#include <utility>

namespace nightlatch::picture::svg {
namespace {

// The patterns are 8 high and begin at 0, so that a whole one is seen.
constexpr double box_height = 32;
constexpr double pattern_height = 8;
constexpr double least_width = 2;  // of a box of its own
constexpr double padding = 5;
constexpr std::size_t words_listed = 3;

constexpr std::array<std::pair<std::string_view, std::string_view>, 8> cue_patterns{
    std::pair{"waiting", "f-dots"},
    std::pair{"holding", "f-rising"},
    std::pair{"ready", "f-solid"},
    std::pair{"countdown", "f-bars"},
    std::pair{"leaving", "f-waves"},
    std::pair{"refused", "f-falling"},
    std::pair{"stuck", "f-dense"},
    std::pair{"fault", "f-cross"}};

/// The boxes of one piece; one that is too narrow takes in those after it that are, too.
void add_boxes(std::vector<CueBox>& boxes, const Plot& plot, const Piece& piece) {
    const auto& cues = plot.timeline.cues;
    const auto after = std::upper_bound(
        cues.begin(), cues.end(), piece.time.begin, [](Duration at, const wave::CueChange& cue) {
            return at < cue.at;
        });
    // Changes at the very begin of the timeline all belong to its first piece.
    auto index = static_cast<std::size_t>(after - cues.begin());
    index = piece.time.begin == Duration::zero() ? 0 : index - (index > 0 ? 1 : 0);
    bool narrow_before = false;
    for (; index < cues.size() && cues[index].at <= piece.time.end; ++index) {
        const Duration end = index + 1 < cues.size() ? cues[index + 1].at : plot.timeline.end;
        const bool ends_the_piece = cues[index].at == piece.time.end;
        if (ends_the_piece && piece.time.end != plot.timeline.end) {
            break;
        }
        const double left = x_of(plot.axis, piece, std::max(cues[index].at, piece.time.begin));
        const double right = x_of(plot.axis, piece, std::min(end, piece.time.end));
        const bool narrow = right - left < least_width;
        if (narrow && narrow_before) {
            boxes.back().right = right;
            ++boxes.back().count;
            continue;
        }
        boxes.push_back({index, 1, piece.strip, left, right});
        narrow_before = narrow;
    }
}

std::string words_of(const Plot& plot, const CueBox& box) {
    const auto& cues = plot.timeline.cues;
    if (box.count > words_listed) {
        return counted(box.count) + " cues";
    }
    std::string words = cue_words(cues[box.first]);
    for (std::size_t i = 1; i < box.count; ++i) {
        words += ", " + cue_words(cues[box.first + i]);
    }
    return words;
}

std::string title_of(const Plot& plot, const CueBox& box) {
    const auto& cues = plot.timeline.cues;
    const std::size_t next = box.first + box.count;
    const Duration end = next < cues.size() ? cues[next].at : plot.timeline.end;
    return words_of(plot, box) + ", " + time_text(cues[box.first].at) + " to " + time_text(end);
}

void draw_box(Svg& svg, const Plot& plot, const CueBox& box) {
    const std::string_view pattern =
        box.count > 1 ? "f-dense" : pattern_of(plot.timeline.cues[box.first].cue);
    const double width = std::max(box.right - box.left, 1.0);
    const std::string words = safe(words_of(plot, box));
    svg.begin_group(title_of(plot, box));
    svg.rect({box.left, 0, width, box_height}, "tint");
    if (!pattern.empty()) {
        svg.rect({box.left, box_height - pattern_height, width, pattern_height}, pattern);
    }
    svg.rect({box.left, 0, width, box_height}, "box");
    if (width_of(words, Font::normal) <= width - 2 * padding) {
        svg.text({box.left + width / 2, 17}, "t mid", words);
    }
    svg.end_group();
}

bool fits(const Plot& plot, const CueBox& box) {
    const double width = box.right - box.left;
    return width_of(safe(words_of(plot, box)), Font::normal) <= width - 2 * padding;
}

/// Of the boxes of one cue the widest keeps its name.
void choose_named(std::vector<CueBox>& boxes) {
    std::size_t best = 0;
    for (std::size_t i = 1; i < boxes.size(); ++i) {
        if (boxes[i].first != boxes[best].first || boxes[i].count > 1) {
            best = i;
            continue;
        }
        const bool wider = boxes[i].right - boxes[i].left > boxes[best].right - boxes[best].left;
        boxes[wider ? best : i].named = false;
        best = wider ? i : best;
    }
}

}  // namespace

std::string cue_words(const wave::CueChange& cue) {
    if (!cue.stage.empty()) {
        return cue.cue + ": " + cue.stage;
    }
    return cue.state.empty() || cue.state == cue.cue ? cue.cue : cue.cue + " (" + cue.state + ")";
}

std::string_view pattern_of(std::string_view cue) noexcept {
    const auto* const found = std::find_if(cue_patterns.begin(),
                                           cue_patterns.end(),
                                           [&](const auto& entry) { return entry.first == cue; });
    return found == cue_patterns.end() ? std::string_view() : found->second;
}

std::vector<CueBox> cue_boxes(const Plot& plot) {
    std::vector<CueBox> boxes;
    boxes.reserve(64);
    for (const Piece& piece : plot.axis.pieces) {
        add_boxes(boxes, plot, piece);
    }
    choose_named(boxes);
    return boxes;
}

Lane cue_lane(const Plot& plot, unsigned strip, const std::vector<CueBox>& boxes) {
    Svg drawn;
    std::vector<Tag> tags;
    tags.reserve(boxes.size());
    for (const CueBox& box : boxes) {
        if (box.strip != strip) {
            continue;
        }
        draw_box(drawn, plot, box);
        if (box.named && !fits(plot, box)) {
            Tag tag;
            tag.x = box.left + std::min(2.0, (box.right - box.left) / 2);
            tag.text = words_of(plot, box);
            tag.title = title_of(plot, box);
            tags.push_back(std::move(tag));
        }
    }
    const TagBlock block = draw_tags(tags, {Font::normal, 150, 1, 8, plot.axis.across.label_right});
    Lane lane;
    lane.name = "cue";
    const bool shown = !plot.timeline.outputs.empty();
    lane.about = block.left_out != 0 ? counted(block.left_out, "name", "names") + " left out"
                 : shown             ? "what is shown"
                                     : "no [[feedback]]";
    lane.tags.add(block.body, {0, 4});
    lane.body.add(drawn, {0, block.height + 5});
    lane.graph_top = block.height + 3;
    lane.height = block.height + box_height + 12;
    lane.name_at = block.height + 5 + box_height / 2;
    return lane;
}

}  // namespace nightlatch::picture::svg
