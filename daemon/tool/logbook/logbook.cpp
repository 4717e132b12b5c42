// SPDX-License-Identifier: MIT
#include "daemon/tool/logbook/logbook.hpp"

#include "base/text.hpp"
#include "daemon/facts/files.hpp"
#include "daemon/tool/output.hpp"
#include "daemon/tool/terminal.hpp"
#include "logbook/write.hpp"

#include <algorithm>

namespace nightlatch::tool {
namespace {

using logbook::DayClock;
using logbook::End;
using logbook::Run;

/// 400 runs are half a megabyte. More than a board's memory can hold is nobody's logbook.
constexpr std::size_t most_bytes = std::size_t{64} << 20U;

/// As the records have it: 32 digits [random(4), boot_id]. "" where the kernel does not say: then
/// no run is known to go on.
std::string boot_now() {
    const auto id = facts::read_value("", "/proc/sys/kernel/random/boot_id");
    std::string digits = id ? *id : "";
    std::erase(digits, '-');
    return digits;
}

bool is_known_since(const std::optional<DayClock::time_point>& day, DayClock::time_point since) {
    return day && *day >= since;
}

/// Adds a file's records; false when it is not there.
Result<bool> add_file(const std::string& file,
                      std::vector<logbook::Record>& records,
                      Pages& pages) {
    const auto text = facts::read_file("", file, most_bytes);
    if (!text && text.error().absent()) {
        return false;
    }
    if (!text) {
        return Unexpected{Error{Trouble::other, text.error().text, text.error().number}};
    }
    logbook::FileRead read = logbook::read_records(*text);
    std::move(read.records.begin(), read.records.end(), std::back_inserter(records));
    for (const logbook::Unread& lines : read.unread) {
        pages.unread.push_back({file, lines});
    }
    return true;
}

Result<Pages> read_pages(const std::string& file) {
    Pages pages{file, {}, {}};
    std::vector<logbook::Record> records;
    const Result<bool> older = add_file(logbook::Place{file}.older(), records, pages);
    const Result<bool> current = add_file(file, records, pages);
    for (const Result<bool>* const read : {&older, &current}) {
        if (!*read) {
            return Unexpected{read->error()};
        }
    }
    if (!*older && !*current) {
        return Unexpected{
            Error{Trouble::other, file + ": there is no logbook: no run has been written down", 0}};
    }
    pages.runs = logbook::book_of(std::move(records), boot_now()).runs;
    return pages;
}

}  // namespace

const Run* Pages::last_judged() const {
    const auto found = std::find_if(runs.rbegin(), runs.rend(), [](const Run& run) {
        return run.end.end != End::running && run.end.end != End::not_looked;
    });
    return found == runs.rend() ? nullptr : &*found;
}

std::vector<Run> since(std::vector<Run> runs, DayClock::time_point day) {
    const auto first = std::find_if(runs.begin(), runs.end(), [&](const Run& run) {
        return (run.started && is_known_since(run.started->at.day, day)) ||
               (run.ended && is_known_since(run.ended->at.day, day));
    });
    runs.erase(runs.begin(), first);
    return runs;
}

int run_logbook(const LogbookOptions& options) {
    Result<Pages> pages = read_pages(options.file);
    if (!pages) {
        return complain(pages.error().text, no_answer);
    }
    if (options.since) {
        const auto day = day_in(*options.since);
        if (!day) {
            return complain(
                "--since: " + in_quotes(*options.since) +
                    " is no day like 2026-11-30, nor a minute like \"2026-11-30 06:12\"",
                no_answer);
        }
        pages->runs = since(std::move(pages->runs), *day);
    }
    print(options.json ? logbook_json(*pages)
                       : logbook_text(*pages, style_of_output(), options.all));
    const Run* const last = pages->last_judged();
    return last == nullptr || last->end.end == End::orderly ? 0 : 1;
}

}  // namespace nightlatch::tool
