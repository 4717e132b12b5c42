// SPDX-License-Identifier: MIT
#include "picture/diagram_notes.hpp"

#include "picture/diagram_tags.hpp"
#include "picture/diagram_text.hpp"

#include <algorithm>

namespace nightlatch::picture::svg {
namespace {

constexpr std::size_t most_listed = 60;
constexpr std::size_t lines_each = 4;
constexpr double note_line = 17;
constexpr double number_height = 20;

double width_of_number(std::size_t number) {
    return std::max(18.0, width_of(std::to_string(number), Font::small) + 10);
}

void add_notes(std::vector<NumberedRemark>& notes, const Plot& plot, const Piece& piece) {
    for (const wave::Mark& mark : marks_in(plot.timeline, piece)) {
        if (mark.kind == wave::MarkKind::remark) {
            const double x = x_of(plot.axis, piece, mark.at);
            notes.push_back({mark.at, mark.text, piece.strip, x, notes.size() + 1});
        }
    }
}

}  // namespace

std::vector<NumberedRemark> notes_of(const Plot& plot) {
    std::vector<NumberedRemark> notes;
    notes.reserve(16);
    for (const Piece& piece : plot.axis.pieces) {
        add_notes(notes, plot, piece);
    }
    return notes;
}

Lane note_lane(unsigned strip, const std::vector<NumberedRemark>& notes) {
    std::vector<const NumberedRemark*> here;
    std::vector<TagSize> sizes;
    here.reserve(notes.size());
    sizes.reserve(notes.size());
    for (const NumberedRemark& note : notes) {
        if (note.strip == strip && note.number <= most_listed) {
            here.push_back(&note);
            sizes.push_back({note.x - 9, width_of_number(note.number) + 2, 1});
        }
    }
    Lane lane;
    if (here.empty()) {
        return lane;
    }
    const std::vector<std::optional<unsigned>> rows = place(sizes, 6);
    unsigned most = 0;
    for (const auto& row : rows) {
        most = std::max(most, row.value_or(0) + 1);
    }
    lane.name = "notes";
    lane.height = most * number_height + 6;
    lane.graph_top = lane.height;  // there is nothing else
    lane.name_at = lane.height / 2;
    for (std::size_t i = 0; i < here.size(); ++i) {
        if (!rows[i]) {
            continue;
        }
        const double middle = lane.height - 3 - number_height * (*rows[i] + 0.5);
        const double width = width_of_number(here[i]->number);
        lane.tags.begin_group("Note at " + time_text(here[i]->at) + ": " + here[i]->text);
        lane.tags.line({here[i]->x, middle}, {here[i]->x, lane.height}, "lead");
        lane.tags.rect({here[i]->x - 9, middle - 8.5, width, 17}, "out hollow");
        lane.tags.text(
            {here[i]->x - 9 + width / 2, middle + 4}, "s mid", std::to_string(here[i]->number));
        lane.tags.end_group();
    }
    return lane;
}

Lane note_list(const std::vector<NumberedRemark>& notes, const Across& across) {
    Lane list;
    double y = 12;
    for (const NumberedRemark& note : notes) {
        if (note.number > most_listed) {
            const std::size_t more = notes.size() - most_listed;
            list.body.text({plot_left, y}, "s", "\xE2\x80\xA6 " + counted(more) + " more notes");
            y += note_line;
            break;
        }
        list.body.text({plot_left + 14, y}, "b end", std::to_string(note.number));
        const std::vector<std::string> lines =
            wrapped("at " + time_text(note.at) + ": " + safe(note.text),
                    Font::normal,
                    across.label_right - plot_left - 24,
                    lines_each);
        for (const std::string& line : lines) {
            list.body.text({plot_left + 24, y}, "t", line);
            y += note_line;
        }
    }
    list.height = notes.empty() ? 0 : y - 6;
    return list;
}

}  // namespace nightlatch::picture::svg
