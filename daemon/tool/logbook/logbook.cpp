// SPDX-License-Identifier: MIT
#include "daemon/tool/logbook/logbook.hpp"

#include "base/text.hpp"
#include "daemon/tool/audit/audit.hpp"
#include "daemon/tool/logbook/write.hpp"
#include "daemon/tool/output.hpp"
#include "daemon/tool/terminal.hpp"

#include <algorithm>

namespace nightlatch::tool {
namespace {

using logbook::DayClock;
using logbook::End;
using logbook::Run;

bool is_witnessed(const Run& run) {
    return !run.witnessed.empty();
}

/// Today's facts are gathered only where there is something to compare them with.
std::optional<audit::Witness> witness_today(const std::vector<Run>& runs,
                                            const LogbookOptions& options) {
    if (options.file || std::none_of(runs.begin(), runs.end(), is_witnessed)) {
        return std::nullopt;  // a file that was named may be another unit's
    }
    AuditOptions audit;
    audit.config = options.config;
    const auto facts = gather(audit);
    return facts ? last_witness(runs, *facts) : std::nullopt;
}

bool is_known_since(const std::optional<DayClock::time_point>& day, DayClock::time_point since) {
    return day && *day >= since;
}

}  // namespace

std::vector<Run> since(std::vector<Run> runs, DayClock::time_point day) {
    const auto first = std::find_if(runs.begin(), runs.end(), [&](const Run& run) {
        return (run.started && is_known_since(run.started->at.day, day)) ||
               (run.ended && is_known_since(run.ended->at.day, day));
    });
    runs.erase(runs.begin(), first);
    return runs;
}

int run_logbook(const LogbookOptions& options) {
    if (options.started || options.ended || options.witnessed) {
        return options.started ? write_started(options)
               : options.ended ? write_ended(options)
                               : write_witnessed(options);
    }
    Result<Pages> pages = read_pages(logbook_file(options).path);
    if (!pages) {
        return complain(pages.error().text, no_answer);
    }
    if (options.since) {
        const auto day = day_in(*options.since);
        if (!day) {
            return complain(
                "--since: " + in_quotes(*options.since) +
                    " is not a day like 2026-11-30, nor a minute like \"2026-11-30 06:12\"",
                no_answer);
        }
        pages->runs = since(std::move(pages->runs), *day);
    }
    pages->witness = witness_today(pages->runs, options);
    print(options.json ? logbook_json(*pages)
                       : logbook_text(*pages, style_of_output(), options.all));
    const Run* const last = pages->last_judged();
    return last == nullptr || last->end.end == End::orderly ? 0 : 1;
}

}  // namespace nightlatch::tool
