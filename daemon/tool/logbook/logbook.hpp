// SPDX-License-Identifier: MIT
#pragma once

#include "audit/facts.hpp"
#include "audit/witness.hpp"
#include "daemon/tool/logbook/pages.hpp"
#include "daemon/tool/options.hpp"
#include "logbook/overview.hpp"
#include "page/page.hpp"

#include <optional>
#include <span>
#include <string>
#include <vector>

namespace nightlatch::tool {

class Json;

struct LogbookOptions {
    std::optional<std::string> file;    ///< without one, what the configuration names
    std::optional<std::string> config;  ///< without one, the service's own
    std::string root;                   ///< where to look for evidence; "" for this machine
    std::optional<std::string> since;
    std::optional<std::string> witnessed;  ///< what a person saw
    bool started = false;
    bool ended = false;
    bool all = false;
    bool json = false;
};

struct LogbookFile {
    std::string path;
    std::size_t keep;       ///< runs
    std::string trouble{};  ///< why it is the default one, where a configuration should say
};

/// Where this unit's logbook is: FILE, or [logbook] of the configuration, whatever else is wrong in
/// it; without one the default.
LogbookFile logbook_file(const LogbookOptions& options);

/// A day of the calendar, "2026-11-30", or a minute of it, "2026-11-30 06:12"; UTC.
std::optional<logbook::DayClock::time_point> day_in(std::string_view text);

/// "2026-11-30 06:12 UTC".
std::string day_text(logbook::DayClock::time_point day);

/// All runs from the first on that is known to have been at that time or later: a run without a
/// clock is taken for one that was when its neighbours were.
std::vector<logbook::Run> since(std::vector<logbook::Run> runs, logbook::DayClock::time_point day);

/// "14: 12 orderly; 1 lost": the runs, and how they ended.
std::string counts_text(const logbook::Overview& overview);
/// "median 3 s, longest 4.3 s (run 2)"; "" where no time is known.
std::string going_down_text(const logbook::Overview& overview);
/// "9, of them 3 let go before any stage".
std::string presses_text(const logbook::Overview& overview);

/// The member `summary` of the logbook's and of other answers.
Json summary_json(std::span<const logbook::Run> runs);

/// Without `all` the last twenty runs are in the table; everything is counted.
std::string logbook_text(const Pages& pages, const page::Style& style, bool all);
std::string logbook_json(const Pages& pages);

/// Of the last one who watched the supply go, and what has changed since; nothing when nobody has.
/// `facts`: of this unit, today.
std::optional<audit::Witness> last_witness(const std::vector<logbook::Run>& runs,
                                           const audit::Facts& facts);

void describe_logbook(Options& options, LogbookOptions& into);

/// The command as a whole. 0: the last run ended in order, or none has ended; 1: else; 2: it cannot
/// be read.
int run_logbook(const LogbookOptions& options);

}  // namespace nightlatch::tool
