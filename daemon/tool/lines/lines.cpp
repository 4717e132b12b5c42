// SPDX-License-Identifier: MIT
#include "daemon/tool/lines/lines.hpp"

#include "audit/tree_uses.hpp"
#include "base/text.hpp"
#include "config/words.hpp"
#include "daemon/facts/live_tree.hpp"
#include "daemon/facts/pins.hpp"
#include "daemon/tool/output.hpp"
#include "daemon/tool/pick_lines.hpp"
#include "daemon/tool/terminal.hpp"
#include "page/page.hpp"

#include <algorithm>
#include <cstdio>
#include <set>
#include <string_view>

namespace nightlatch::tool {
namespace {

using lines::Chip;
using lines::Line;
using lines::LineView;
using lines::Suits;

struct Counts {
    std::size_t lines = 0;
    std::size_t free = 0;
    std::size_t suit = 0;
    std::size_t with_care = 0;
};

Counts count(const LinesFacts& facts) {
    Counts counts;
    for (const Chip& chip : facts.survey.chips) {
        for (unsigned offset = 0; offset < chip.lines.size(); ++offset) {
            const LineView view = lines::view_line(chip, offset, facts.uses, facts.pins);
            ++counts.lines;
            counts.free += view.free ? 1U : 0U;
            counts.suit += view.suits != Suits::no ? 1U : 0U;
            counts.with_care += view.suits == Suits::with_care ? 1U : 0U;
        }
    }
    return counts;
}

void add_verdict(page::Page& page, const LinesFacts& facts) {
    using page::Paint;
    if (facts.survey.chips.empty()) {
        facts.survey.unseen.empty()
            ? page.verdict("No GPIO chip on this machine. Next: run this on the board, or check "
                           "that the kernel has the chip's driver.",
                           "No GPIO chip",
                           Paint::bad)
            : page.verdict("No GPIO chip could be opened. Next: get permission, as said below.",
                           "No GPIO chip",
                           Paint::bad);
        return;
    }
    const Counts counts = count(facts);
    const std::string seen = counted(facts.survey.chips.size(), "chip") + ", " +
                             counted(counts.lines, "line") + ", " + counted(counts.free) +
                             " free; ";
    if (counts.suit == 0) {
        page.verdict(seen + "none suits a button. Next: nightlatch lines --all, which says why of "
                            "each line.",
                     "none suits",
                     Paint::bad);
        return;
    }
    const std::string suit = counted(counts.suit, "suits", "suit");
    const std::string care =
        counts.with_care > 0 ? " (" + counted(counts.with_care) + " with care)" : "";
    page.verdict(seen + suit + " a button" + care +
                     ". Next: nightlatch lines --watch LINE…, with the lines that your button may "
                     "be on.",
                 suit,
                 counts.suit > counts.with_care ? Paint::good : Paint::doubtful);
}

std::string text_of(Suits suits) {
    switch (suits) {
    case Suits::yes:
        return "yes";
    case Suits::with_care:
        return "with care";
    case Suits::no:
        return "no";
    }
    return "";
}

/// "output, active low, pull-up": the level's meaning and the bias only as somebody asked for them.
std::string now_text(const Line& line) {
    std::string text = line.output ? "output" : "input";
    if (line.active_low) {
        text += ", active low";
    }
    if (line.bias != lines::Bias::as_is) {
        text += ", " + (line.bias == lines::Bias::none
                            ? "no pull"
                            : std::string(word_for(config::bias_words, line.bias)));
    }
    return text;
}

std::string joined(const std::vector<std::string>& parts) {
    std::string text;
    for (const std::string& part : parts) {
        text += (text.empty() ? "" : "; ") + part;
    }
    return text;
}

/// Offset, name, what it is now, whether it suits, why not.
page::Row row_of(const Line& line, unsigned offset, const LineView& view) {
    return {std::to_string(offset),
            line.name.empty() ? "-" : line.name,
            now_text(line),
            text_of(view.suits),
            joined(view.why)};
}

std::string chip_text(const Chip& chip, const LinesFacts& facts, bool all) {
    std::vector<page::Row> rows{{"line", "name", "now", "suits", ""}};
    std::size_t folded = 0;
    for (unsigned offset = 0; offset < chip.lines.size(); ++offset) {
        const LineView view = lines::view_line(chip, offset, facts.uses, facts.pins);
        if (!all && view.suits == Suits::no) {
            ++folded;
            continue;
        }
        rows.push_back(row_of(chip.lines[offset], offset, view));
    }
    std::string text = safe(chip.name + " [" + chip.label + "]") +
                       (chip.node.empty() ? "" : " " + safe(chip.node)) + "\n";
    text += rows.size() > 1 ? page::table(rows, {.indent = 2, .sides = "rl"}) : "";
    if (folded > 0) {
        text += "  " + counted(folded) + (rows.size() > 1 ? " more" : "") +
                (folded == 1 ? " is held or does not suit" : " are held or do not suit") +
                ": --all shows why\n";
    }
    return text;
}

/// A node with several chips is a controller with a bank each: only its driver knows which of them
/// an offset of the tree means.
void drop_shared_nodes(LinesFacts& facts) {
    std::set<std::string> seen;
    std::set<std::string> shared;
    for (const Chip& chip : facts.survey.chips) {
        if (!chip.node.empty() && !seen.insert(chip.node).second) {
            shared.insert(chip.node);
        }
    }
    std::erase_if(facts.uses, [&shared](const lines::TreeUse& use) {
        return shared.count(use.controller) > 0;
    });
    for (const std::string& node : shared) {
        facts.not_seen.push_back("which chip's lines the device tree means by those of " + node +
                                 ": several chips share that node");
    }
}

}  // namespace

LinesFacts gather_lines(const gpio::Places& places, const std::string& root) {
    LinesFacts seen;
    seen.survey = gpio::survey(places);
    const Known<devicetree::Tree> tree = facts::read_live_tree(root);
    if (tree) {
        seen.uses = audit::tree_uses(*tree, devicetree::take_inventory(*tree));
        drop_shared_nodes(seen);
    } else {
        seen.not_seen.push_back("what the device tree wants lines for: " + tree.what_is_missing());
    }
    seen.pins = facts::read_pins(root);
    if (!seen.pins) {
        seen.not_seen.push_back("what each pin is used as now, so that a free line may carry a "
                                "card, a radio or a bus: " +
                                seen.pins.what_is_missing());
    }
    for (const gpio::UnseenChip& chip : seen.survey.unseen) {
        seen.not_seen.push_back(chip.device + ": " + chip.error.text);
    }
    return seen;
}

Result<LinesFacts, std::string> only_chips(LinesFacts facts,
                                           const std::vector<std::string>& chips) {
    std::set<std::size_t> wanted;
    for (const std::string& chip : chips) {
        const auto index = pick_chip(facts.survey.chips, chip);
        if (!index) {
            return Unexpected{index.error()};
        }
        wanted.insert(*index);
    }
    if (!chips.empty()) {
        std::vector<Chip> kept;
        kept.reserve(wanted.size());
        for (const std::size_t index : wanted) {
            kept.push_back(std::move(facts.survey.chips[index]));
        }
        facts.survey.chips = std::move(kept);
    }
    return facts;
}

std::string lines_text(const LinesFacts& facts, bool all, const page::Style& style) {
    page::Page page(style);
    add_verdict(page, facts);
    for (const Chip& chip : facts.survey.chips) {
        page.raw("\n" + chip_text(chip, facts, all));
    }
    if (facts.survey.chips.empty() && facts.survey.unseen.empty()) {
        return page.str();  // nothing was missed where there is nothing
    }
    page.raw(facts.not_seen.empty() ? "" : "\n");
    for (const std::string& one : facts.not_seen) {
        page.paragraph("Not seen: ", one + ".", 2);
    }
    return page.str();
}

int lines_status(const LinesFacts& facts) {
    return count(facts).suit > 0 ? 0 : 1;
}

int run_lines(const LinesOptions& options) {
    const auto facts = only_chips(gather_lines({}, ""), options.chips);
    if (!facts) {
        return complain(facts.error());
    }
    print(options.json ? lines_json(*facts) : lines_text(*facts, options.all, style_of_output()));
    return lines_status(*facts);
}

}  // namespace nightlatch::tool
