// SPDX-License-Identifier: MIT
#include "daemon/tool/logbook/logbook.hpp"

namespace nightlatch::tool {
namespace {

constexpr const char* logbook_footer = R"(
Examples:
  nightlatch logbook                        how the last runs ended, and how long going down took
  nightlatch logbook --since 2026-11-30     since that day (UTC); also "2026-11-30 06:12"
  nightlatch logbook /mnt/image/var/lib/nightlatch/logbook.jsonl
  nightlatch logbook --json | jq .summary   for a program
  sudo nightlatch logbook --witnessed "rail to 0 V, 2.1 s"

Privileges: none to read it. --witnessed: root. Without root not all that "proven" rests on can be
seen: `sudo nightlatch audit` says more.

A time of day is shown only where the clock had been set; the order is that of the runs' numbers.

Exit status: 0 the last run ended in order, or none has ended; 1 it was lost, or its end was not
seen, or cannot be known; 2 the command line is wrong, the logbook cannot be read, or the answer
could not be written.)";

}  // namespace

void describe_logbook(Options& options, LogbookOptions& into) {
    options
        .text(
            "FILE", into.file, "The logbook (default: this unit's own, as [logbook] path names it)")
        .config(into.config)
        .text("--since TIME", into.since, "Only runs since this day, or minute of a day (UTC)")
        .flag("--all", into.all, "Every run in the table, and a sentence on each")
        .flag("--json", into.json, "Answer in JSON")
        .text("--witnessed WORDS",
              into.witnessed,
              "Write down that you watched the supply go after the last run, and what you saw")
        .flag("--started", into.started, "For nightlatch-started.service: write this run's start")
        .excludes("--witnessed")
        .flag("--ended", into.ended, "For nightlatch-ended.service: write this run's end")
        .excludes("--started")
        .excludes("--witnessed")
        .text("--root DIR",
              into.root,
              "For --started and --ended: take the evidence from this folder")
        .footer(logbook_footer);
}

}  // namespace nightlatch::tool
