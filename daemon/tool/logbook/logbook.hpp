// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/tool/logbook/pages.hpp"
#include "daemon/tool/options.hpp"
#include "logbook/overview.hpp"
#include "page/page.hpp"

#include <optional>
#include <string>
#include <vector>

namespace nightlatch::tool {

struct LogbookOptions {
    std::string file = "/var/lib/nightlatch/logbook.jsonl";
    std::optional<std::string> since;
    bool all = false;
    bool json = false;
};

/// A day of the calendar, "2026-11-30", or a minute of it, "2026-11-30 06:12"; UTC.
std::optional<logbook::DayClock::time_point> day_in(std::string_view text);

/// "2026-11-30 06:12 UTC".
std::string to_text(logbook::DayClock::time_point day);

/// All runs from the first on that is known to have been at that time or later: a run without a
/// clock is taken for one that was when its neighbours were.
std::vector<logbook::Run> since(std::vector<logbook::Run> runs, logbook::DayClock::time_point day);

/// Without `all` the last twenty runs are in the table; everything is counted.
std::string logbook_text(const Pages& pages, const page::Style& style, bool all);
std::string logbook_json(const Pages& pages);

void describe_logbook(Options& options, LogbookOptions& into);

/// The command as a whole. 0: the last run ended in order, or none has ended; 1: else; 2: it cannot
/// be read.
int run_logbook(const LogbookOptions& options);

}  // namespace nightlatch::tool
