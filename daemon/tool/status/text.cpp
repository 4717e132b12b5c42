// SPDX-License-Identifier: MIT
#include "base/text.hpp"

#include "core/settings.hpp"
#include "daemon/tool/client/words.hpp"
#include "daemon/tool/logbook/logbook.hpp"
#include "daemon/tool/status/status.hpp"

#include <array>
#include <chrono>

namespace nightlatch::tool {
namespace {

using namespace std::chrono_literals;

/// "3 min", the whole of the largest unit that fits.
std::string about(Duration length) {
    const std::pair<Duration, const char*> units[] = {
        {24h, " days"}, {1h, " h"}, {1min, " min"}, {1s, " s"}};
    for (const auto& [unit, name] : units) {
        // Two of a unit at least, so that what is left out is small beside it.
        if (length >= 2 * unit) {
            return std::to_string(length / unit) + name;
        }
    }
    return "a moment";
}

std::string verdict_words(const std::string& word) {
    constexpr std::array verdicts{
        std::pair{"configured", core::Verdict::configured},
        std::pair{"contradicted", core::Verdict::contradicted},
        std::pair{"absent", core::Verdict::absent},
        std::pair{"cannot-tell", core::Verdict::cannot_tell},
    };
    for (const auto& [name, verdict] : verdicts) {
        if (word == name) {
            return std::string(core::text_of(verdict));
        }
    }
    return word;
}

std::string file_words(const StatusFacts& facts) {
    if (!facts.state) {
        return facts.file +
               (facts.settings ? ", which is fine" : ": " + facts.settings.what_is_missing());
    }
    const ConfigurationSeen& file = facts.state->configuration;
    std::string text = file.path + ", read " + about(facts.now - file.loaded) + " ago; on disk: ";
    text += file.on_disk;
    return file.trouble ? text + ", " + *file.trouble : text;
}

std::string holder_words(const StatusFacts& facts) {
    if (facts.state && facts.state->line.watching) {
        return "; held by the service";
    }
    if (!facts.holder) {
        return "; who holds it cannot be seen: " + facts.holder.what_is_missing();
    }
    return facts.holder->empty() ? "; nobody holds it" : "; held by " + in_quotes(*facts.holder);
}

std::string line_words(const StatusFacts& facts) {
    if (facts.state) {
        const LineSeen& line = facts.state->line;
        return line.line + " on " + line.chip + ", " + facts.state->level + holder_words(facts);
    }
    if (!facts.settings) {
        return "not known";
    }
    return facts.settings->button.where.line + " on " + facts.settings->button.where.chip +
           holder_words(facts);
}

std::string alarm_words(const ServiceState& state) {
    std::string text;
    for (const AlarmSeen& alarm : state.alarms) {
        text += (text.empty() ? "" : ", ") + alarm.name + (alarm.due ? ": due" : ": not due");
    }
    return text.empty() ? "none" : text;
}

void add_logbook_rows(const StatusFacts& facts, std::vector<page::Row>& rows) {
    if (!facts.logbook) {
        rows.push_back({"logbook", facts.logbook.what_is_missing()});
        return;
    }
    const logbook::Overview overview = logbook::overview_of(facts.logbook->runs);
    if (const logbook::Run* const last = facts.logbook->last_judged()) {
        rows.push_back({"last run",
                        std::to_string(last->id.number) + ": " +
                            std::string(logbook::text_of(last->end.end))});
    }
    rows.push_back({"runs", counts_text(overview)});
    if (overview.longest) {
        rows.push_back({"going down", going_down_text(overview)});
    }
    rows.push_back({"presses", presses_text(overview)});
}

std::vector<page::Row> rows_of(const StatusFacts& facts) {
    std::vector<page::Row> rows{{"configuration", file_words(facts)}, {"line", line_words(facts)}};
    if (facts.state) {
        rows.push_back({"post-halt line", verdict_words(facts.state->post_halt)});
        rows.push_back({"alarms", alarm_words(*facts.state)});
        rows.push_back({"service", facts.state->version + (facts.state->dry ? ", a dry run" : "")});
    }
    add_logbook_rows(facts, rows);
    return rows;
}

}  // namespace

std::string status_text(const StatusFacts& facts, const page::Style& style) {
    page::Page page(style);
    const std::vector<Wrong> wrong = what_is_wrong(facts);
    if (facts.state) {
        const auto paint = wrong.empty() ? page::Paint::good : page::Paint::doubtful;
        page.raw(page.painted(facts.state->cue, paint));
        page.paragraph("  ", cue_words(*facts.state, facts.now), 2);
    }
    for (const Wrong& one : wrong) {
        page.raw(page.painted("Wrong:", page::Paint::bad));
        page.paragraph(" ", one.what, 2);
    }
    if (!wrong.empty()) {
        page.raw(page.painted("Next:", page::Paint::bold));
        page.paragraph(" ", wrong.front().next, 2);
    }
    page.raw("\n");
    page.raw(page::table(rows_of(facts), {.indent = 2, .sides = "l", .wrapped_at = style.columns}));
    return page.str();
}

}  // namespace nightlatch::tool
