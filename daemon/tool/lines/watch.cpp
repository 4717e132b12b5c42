// SPDX-License-Identifier: MIT
#include "daemon/tool/lines/watch.hpp"

#include "base/duration_text.hpp"
#include "base/text.hpp"
#include "config/diagnostic.hpp"
#include "config/to_toml.hpp"
#include "config/words.hpp"
#include "daemon/gpio/gpiod.hpp"

#include <algorithm>

namespace nightlatch::tool {
namespace {

using lines::LineView;
using lines::PinNow;
using lines::Suits;

LineView view_of(const LinesFacts& facts, const PickedLine& line) {
    return lines::view_line(facts.survey.chips[line.chip], line.offset, facts.uses, facts.pins);
}

bool is_post_halt(const LinesFacts& facts, const PickedLine& line) {
    const lines::Chip& chip = facts.survey.chips[line.chip];
    return std::any_of(facts.uses.begin(), facts.uses.end(), [&](const lines::TreeUse& use) {
        return use.kind == lines::TreeUseKind::post_halt && !chip.node.empty() &&
               use.controller == chip.node && use.offset == line.offset;
    });
}

/// Why a line that a person named is not asked for; nothing when it may be.
std::optional<std::string> why_not(const LinesFacts& facts, const PickedLine& line) {
    const Chips& chips = facts.survey.chips;
    const lines::Line& now = chips[line.chip].lines[line.offset];
    const std::string name = long_name(chips, line);
    if (is_post_halt(facts, line)) {
        return name + " is the post-halt line: asking for it could release the supply";
    }
    if (now.used && now.consumer == gpio::consumer_name) {
        return name + " is held by the service: first sudo systemctl stop nightlatch";
    }
    const LineView view = view_of(facts, line);
    if (!view.free) {
        return name + " is not free, " + safe(view.why.front()) + ": choose another line";
    }
    if (view.pin.now == PinNow::other) {
        return name + " is not asked for, its pin is " + safe(view.pin.what) +
               ": that would stop working";
    }
    return std::nullopt;
}

/// Every line for which `take` is true.
template <class Take>
std::vector<PickedLine> all_lines(const LinesFacts& facts, Take take) {
    std::vector<PickedLine> lines = every_line(facts.survey.chips);
    std::erase_if(lines, [&](const PickedLine& line) { return !take(line); });
    return lines;
}

Refusal list_candidates(const LinesFacts& facts) {
    const std::vector<PickedLine> suiting = all_lines(facts, [&facts](const PickedLine& line) {
        return view_of(facts, line).suits != Suits::no;
    });
    if (suiting.empty()) {
        return {"no line suits a button: nightlatch lines --all says why", 1};
    }
    std::string text =
        "name the lines that your button may be on: asking for a line can switch its pin's "
        "function, and no line is known to be a header's whose pin is GPIO now";
    text += facts.pins ? "" : " (" + facts.pins.what_is_missing() + ")";
    text += ".\nLines that suit:";
    constexpr std::size_t most = 40;
    for (std::size_t i = 0; i < std::min(suiting.size(), most); ++i) {
        text += " " + short_name(facts.survey.chips, suiting[i]);
    }
    text += suiting.size() > most ? " … (nightlatch lines shows all)" : "";
    return {text + "\nNext: nightlatch lines --watch " +
                short_name(facts.survey.chips, suiting.front()) + " …",
            2};
}

/// What was not found may be on a chip that could not be looked at.
Refusal not_found(const LinesFacts& facts, const std::string& why) {
    std::string text = why;
    for (const gpio::UnseenChip& chip : facts.survey.unseen) {
        text += "\n" + chip.error.text;
    }
    return {std::move(text), 2};
}

std::string count_of(const bounce::LineWatch& watch) {
    return counted(watch.edges(), "edge");
}

/// Nothing when none was.
std::string lost_text(const bounce::LineWatch& watch) {
    if (watch.lost() == 0) {
        return "";
    }
    return "The kernel dropped " + counted(watch.lost()) +
           " more of its edges, which came too fast to be read: a press may be missing here. ";
}

const char* word(Level level) {
    return level == Level::active ? "high" : "low";
}

std::string nothing_text(const LinesFacts& facts,
                         const WatchSeen& seen,
                         const WatchOptions& options) {
    std::string text = "Nothing moved";
    text += seen.end == WatchEnd::time ? " in " + seconds_text(options.time) + ". " : ". ";
    for (std::size_t i = 0; i < seen.lines.size(); ++i) {
        const bounce::LineWatch& watch = seen.watches[i];
        if (watch.edges() > 0) {
            text += short_name(facts.survey.chips, seen.lines[i]) + " had " + count_of(watch) +
                    (watch.unsteady() ? " and never came to rest: it floats. "
                                      : ", none of which lasted. ") +
                    lost_text(watch);
        }
    }
    const bool pulled =
        options.bias == lines::Bias::pull_up || options.bias == lines::Bias::pull_down;
    return text + "Next: check the wiring" +
           (pulled ? ", or watch another line."
                   : ", or try --bias pull-up (a button to ground) or --bias pull-down (a button "
                     "to the supply).");
}

/// One sentence for each line that moved.
void add_moved(page::Page& page,
               const LinesFacts& facts,
               const WatchSeen& seen,
               std::size_t first) {
    std::size_t moved = 0;
    for (std::size_t i = 0; i < seen.lines.size(); ++i) {
        const bounce::LineWatch& watch = seen.watches[i];
        if (watch.changes() == 0) {
            continue;
        }
        ++moved;
        const std::string lost = lost_text(watch);
        page.verdict(long_name(facts.survey.chips, seen.lines[i]) + " moved: " + count_of(watch) +
                         ", rests " + word(watch.rest()) + "." + (lost.empty() ? "" : " ") +
                         std::string(trimmed(lost)),
                     " moved",
                     page::Paint::good);
    }
    if (moved > 1) {
        page.paragraph("",
                       counted(moved) +
                           " lines moved: they are wired together, or one couples into another. "
                           "What follows is for the one that moved first; watch it alone to be "
                           "sure.",
                       0);
    }
    if (!seen.watches[first].whole_press()) {
        page.paragraph("",
                       "No whole press was seen, so the rest level is a guess: the level that "
                       "lasted longer. Watch again before you rely on it.",
                       0);
    }
}

}  // namespace

Result<std::vector<PickedLine>, Refusal> choose_lines(const LinesFacts& facts,
                                                      const WatchOptions& options) {
    if (facts.survey.chips.empty()) {
        return Unexpected{Refusal{facts.survey.unseen.empty()
                                      ? "no GPIO chip on this machine: run this on the board"
                                      : facts.survey.unseen.front().error.text,
                                  1}};
    }
    if (options.lines.empty()) {
        std::vector<PickedLine> header = all_lines(facts, [&facts](const PickedLine& line) {
            const LineView view = view_of(facts, line);
            return !facts.survey.chips[line.chip].lines[line.offset].name.empty() &&
                   view.suits == Suits::yes && view.pin.now == PinNow::gpio;
        });
        if (header.empty()) {
            return Unexpected{list_candidates(facts)};
        }
        return header;
    }
    std::vector<PickedLine> lines;
    for (const std::string& text : options.lines) {
        const auto line = pick_line(facts.survey.chips, text, options.chip);
        if (!line) {
            return Unexpected{not_found(facts, line.error())};
        }
        if (auto why = why_not(facts, *line)) {
            return Unexpected{Refusal{std::move(*why), 1}};
        }
        if (std::find(lines.begin(), lines.end(), *line) == lines.end()) {
            lines.push_back(*line);
        }
    }
    return lines;
}

std::string before_text(const LinesFacts& facts,
                        const std::vector<PickedLine>& lines,
                        const WatchOptions& options) {
    std::string text = "About to ask the kernel for ";
    text += lines.size() == 1 ? "this line as an input, " : "these lines as inputs, ";
    text += options.bias == lines::Bias::as_is
                ? "with no bias set:\n"
                : "bias " + std::string(word_for(config::bias_words, options.bias)) + ":\n";
    bool unknown = false;
    for (const PickedLine& line : lines) {
        const LineView view = view_of(facts, line);
        unknown = unknown || view.pin.now == PinNow::unknown;
        text += "  " + long_name(facts.survey.chips, line);
        for (const std::string& why : view.why) {
            text += "; " + safe(why);
        }
        text += "\n";
    }
    if (unknown) {
        text += "Caution: this can switch a pin to GPIO. What else hangs on it (a card, a radio, a "
                "bus)\nthen stops working, perhaps until the next boot; what these pins are used "
                "as now "
                "could\nnot be seen.\n";
    }
    return text;
}

std::string press_text(const WatchOptions& options) {
    return "Press your button now, hold it about a second, let go (Ctrl-C ends; " +
           seconds_text(options.time) + " at most).\n";
}

std::optional<std::size_t> first_moved(const WatchSeen& seen) {
    std::optional<std::size_t> first;
    Instant earliest = never;
    for (std::size_t i = 0; i < seen.watches.size(); ++i) {
        if (seen.watches[i].changes() > 0 && seen.watches[i].first_change() < earliest) {
            earliest = seen.watches[i].first_change();
            first = i;
        }
    }
    return first;
}

config::Button button_of(const Chips& chips,
                         const WatchSeen& seen,
                         std::size_t index,
                         lines::Bias bias) {
    // A line that rests high is pressed low.
    const bool active_low = seen.watches[index].rest() == Level::active;
    return {config_name(chips, seen.lines[index]), active_low, bias};
}

std::string watch_text(const LinesFacts& facts,
                       const WatchSeen& seen,
                       const WatchOptions& options,
                       const page::Style& style) {
    page::Page page(style);
    const auto first = first_moved(seen);
    if (!first) {
        page.verdict(nothing_text(facts, seen, options), "Nothing moved", page::Paint::bad);
        return page.str();
    }
    add_moved(page, facts, seen, *first);
    page.raw("\n" +
             config::button_block(button_of(facts.survey.chips, seen, *first, options.bias)) +
             "\nNext: replace [button] in /etc/nightlatch/nightlatch.toml with this, "
             "then\nsudo nightlatch check.\n");
    return page.str();
}

int watch_status(const WatchSeen& seen) {
    return first_moved(seen) ? 0 : 1;
}

}  // namespace nightlatch::tool
