// SPDX-License-Identifier: MIT
#include "base/text.hpp"

#include "base/duration_text.hpp"
#include "daemon/tool/logbook/logbook.hpp"

#include <algorithm>
#include <array>
#include <chrono>
#include <span>

namespace nightlatch::tool {
namespace {

using logbook::End;
using logbook::Overview;
using logbook::Run;

constexpr std::size_t rows_without_all = 20;
constexpr Duration::rep bar_columns = 16;

/// systemd keeps a journal where there is a folder for it, by default [journald.conf(5)].
constexpr const char* no_journal =
    "What took the time is not known: that boot's journal is gone. A journal is kept over a boot "
    "after `sudo mkdir /var/log/journal` and Storage=persistent in "
    "/etc/systemd/journald.conf.d/keep.conf; it writes to the card all the time.";

page::Paint paint_of(End end) {
    return end == End::orderly                               ? page::Paint::good
           : end == End::lost || end == End::lost_last_words ? page::Paint::bad
                                                             : page::Paint::doubtful;
}

/// "3.1 s": to a tenth, upwards, as it is to be reckoned with.
std::string tenths(Duration time) {
    const auto count = std::chrono::ceil<std::chrono::milliseconds>(time).count();
    const auto all = (count + 99) / 100;
    return std::to_string(all / 10) + (all % 10 != 0 ? "." + std::to_string(all % 10) : "") + " s";
}

std::string bar(Duration time, const Overview& overview) {
    const Duration::rep longest = std::max<Duration::rep>(overview.longest->time.count(), 1);
    const Duration::rep columns = (time.count() / 1'000 * bar_columns) / (longest / 1'000 + 1) + 1;
    return std::string(static_cast<std::size_t>(columns), '=');
}

std::string when(const Run& run) {
    if (run.started && run.started->at.day) {
        return day_text(*run.started->at.day);
    }
    return "not known";
}

page::Row row_of(const Run& run, const Overview& overview) {
    const std::optional<Duration> time = run.going_down();
    std::string end(logbook::text_of(run.end.end));
    end += run.witnessed.empty() ? "" : ", witnessed";
    return {std::to_string(run.id.number),
            when(run),
            end,
            time ? tenths(*time) : "",
            time ? bar(*time, overview) : ""};
}

std::vector<page::Row> overview_rows(const Overview& overview) {
    std::vector<page::Row> rows{{"runs", counts_text(overview)}};
    if (overview.longest) {
        rows.push_back({"going down", going_down_text(overview)});
        rows.push_back({"for [circuit.hold_up]",
                        "time_to_go_down = " + in_quotes(tenths(overview.longest->time))});
    }
    if (overview.most) {
        rows.push_back({"holds it up most",
                        safe(overview.most->unit) + ", slowest in " +
                            counted(overview.most->runs, "run") + ", at most " +
                            tenths(overview.most->longest)});
    }
    rows.push_back({"presses", presses_text(overview)});
    return rows;
}

std::string words_of(logbook::Unreadable why) {
    switch (why) {
    case logbook::Unreadable::torn:
        return "cut off while it was written, or not whole yet";
    case logbook::Unreadable::damaged:
        return "damaged, or cut off by a loss of power";
    case logbook::Unreadable::later_version:
        return "written by a later version of this program";
    case logbook::Unreadable::unknown:
        return "no record";
    }
    return "";
}

std::string whole_sentence(const Run& run) {
    const std::string why = logbook::why_slow(run);
    return "run " + std::to_string(run.id.number) + ": " + logbook::sentence_of(run) +
           (why.empty() ? "" : "; " + why);
}

void add_last(const Pages& pages, page::Page& page) {
    const Run* const last = pages.last_judged();
    if (last == nullptr) {
        page.paragraph("", "No run has ended yet, as far as a later one has looked.", 2);
        return;
    }
    const End end = last->end.end;
    page.raw(page.painted(logbook::text_of(end), paint_of(end)));
    page.paragraph("  ", whole_sentence(*last), 2);
    if (!last->stopping) {
        page.paragraph("  ", no_journal, 2);
    }
}

void add_witness(const Pages& pages, page::Page& page) {
    if (!pages.witness) {
        return;
    }
    const bool holds = pages.witness->holds;
    page.raw(page.painted(holds ? "proven" : "not proven today",
                          holds ? page::Paint::good : page::Paint::doubtful) +
             "\n");
    page.paragraph("  ", audit::sentence_of(*pages.witness), 2);
}

/// Unless all are wanted, of those that did not end in order.
void add_sentences(std::span<const Run> runs, bool all, page::Page& page) {
    for (const Run& run : runs) {
        const std::string head = "run " + std::to_string(run.id.number) + ": ";
        if (all || (run.end.end != End::orderly && run.end.end != End::running)) {
            page.paragraph("  ", whole_sentence(run), 4);
        }
        if (logbook::came_back_soon(run)) {
            page.paragraph("  ",
                           head + "it was off for only " + tenths(*run.off) +
                               ": unless somebody pressed the button at once, it switched itself "
                               "on again",
                           4);
        }
        for (const logbook::Witnessed& one : run.witnessed) {
            page.paragraph("  ", head + "a person saw the supply go: " + in_quotes(one.words), 4);
        }
    }
}

}  // namespace

std::string counts_text(const Overview& overview) {
    std::string text = std::to_string(overview.runs);
    const std::pair<std::size_t, const char*> kinds[] = {{overview.orderly, "orderly"},
                                                         {overview.left, "left, end not seen"},
                                                         {overview.lost, "lost"},
                                                         {overview.unknown, "not known"}};
    const char* before = ": ";
    for (const auto& [count, word] : kinds) {
        if (count != 0) {
            text += before + std::to_string(count) + " " + word;
            before = "; ";
        }
    }
    return text;
}

std::string going_down_text(const Overview& overview) {
    return !overview.longest ? ""
                             : "median " + tenths(*overview.median) + ", longest " +
                                   tenths(overview.longest->time) + " (run " +
                                   std::to_string(overview.longest->run) + ")";
}

std::string presses_text(const Overview& overview) {
    return counted(overview.presses) + ", of them " + counted(overview.near_misses) +
           " let go before any stage";
}

std::string logbook_text(const Pages& pages, const page::Style& style, bool all) {
    const Overview overview = logbook::overview_of(pages.runs);
    page::Page page(style);
    add_last(pages, page);
    add_witness(pages, page);
    page.raw("\n");
    page.raw(page::table(overview_rows(overview),
                         {.indent = 2, .sides = "l", .wrapped_at = style.columns}));
    const std::size_t shown =
        all ? pages.runs.size() : std::min(pages.runs.size(), rows_without_all);
    const std::span<const Run> last = std::span(pages.runs).last(shown);
    std::vector<page::Row> rows{{"run", "from", "end", "going down", ""}};
    std::transform(last.rbegin(), last.rend(), std::back_inserter(rows), [&](const Run& run) {
        return row_of(run, overview);
    });
    page.raw("\n" + page::table(rows, {.indent = 2, .sides = "rllrl", .wrapped_at = 0}) + "\n");
    add_sentences(last, all, page);
    if (shown < pages.runs.size()) {
        page.paragraph(
            "  ", counted(pages.runs.size() - shown, "earlier run") + ": --all shows all", 4);
    }
    for (const UnreadLines& one : pages.unread) {
        page.paragraph("  ",
                       one.file + ":" + std::to_string(one.lines.line) + ": " +
                           counted(one.lines.lines, "line") + " of " +
                           counted(one.lines.bytes, "byte") + " in all, " + words_of(one.lines.why),
                       4);
    }
    return page.str();
}

}  // namespace nightlatch::tool
