// SPDX-License-Identifier: MIT
#include "picture/diagram_aloud.hpp"

#include "picture/diagram_tags.hpp"
#include "picture/diagram_text.hpp"
#include "picture/frame.hpp"

#include <algorithm>

namespace nightlatch::picture::svg {
namespace {

constexpr std::size_t most_told = 60;

struct Told {
    Duration at{};
    std::string words;
};

void add_presses(std::vector<Told>& story, const wave::Timeline& timeline) {
    for (const wave::Hold& hold : timeline.holds) {
        const bool lasts = hold.end == timeline.end;
        story.push_back({hold.begin,
                         "the button is pressed and held " +
                             (lasts ? "to the end" : "for " + time_text(hold.end - hold.begin))});
    }
}

/// What it does from the start is told when that is something.
void add_looks(std::vector<Told>& story, const wave::Output& output) {
    for (const wave::LookChange& look : output.looks) {
        if (look.at > Duration::zero() || look.on != Duration::zero()) {
            story.push_back({look.at, output.about + " " + output.name + ": " + look.look});
        }
    }
}

/// What speaks for itself is not announced.
std::string announced(const wave::Mark& mark) {
    switch (mark.kind) {
    case wave::MarkKind::remark:
        return "note: " + mark.text;
    case wave::MarkKind::trouble:
        return "trouble: " + mark.text;
    case wave::MarkKind::decision:
    case wave::MarkKind::request:
    case wave::MarkKind::answer:
    case wave::MarkKind::service:
    case wave::MarkKind::info:
        return mark.text;
    }
    return {};
}

}  // namespace

std::string read_aloud(const wave::Timeline& timeline, const DiagramTitle& title) {
    std::vector<Told> story;
    story.reserve(2 * timeline.holds.size() + timeline.marks.size());
    for (const wave::Mark& mark : timeline.marks) {
        story.push_back({mark.at, announced(mark)});
    }
    add_presses(story, timeline);
    for (const wave::Output& output : timeline.outputs) {
        add_looks(story, output);
    }
    std::erase_if(story, [](const Told& one) { return sentence(one.words).empty(); });
    std::stable_sort(
        story.begin(), story.end(), [](const Told& a, const Told& b) { return a.at < b.at; });
    std::string text = "A timing diagram of " + time_text(timeline.end) + " with " +
                       counted(timeline.holds.size(), "press", "presses");
    text = sentence(text + (title.subtitle.empty() ? "" : ", from " + title.subtitle));
    const std::size_t told = std::min(story.size(), most_told);
    std::string last;
    for (std::size_t i = 0; i < told; ++i) {
        const std::string at = time_text(story[i].at);
        text += at == last ? " Then " : " At " + at + ", ";
        text += sentence(story[i].words);
        last = at;
    }
    if (told < story.size()) {
        text += " And " + counted(story.size() - told) + " more.";
    }
    return text;
}

}  // namespace nightlatch::picture::svg
