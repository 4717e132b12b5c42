// SPDX-License-Identifier: MIT
#include "daemon/tool/logbook/write.hpp"

#include "audit/grounds.hpp"
#include "base/text.hpp"
#include "daemon/sys/journal.hpp"
#include "daemon/sys/small_file.hpp"
#include "daemon/tool/audit/audit.hpp"
#include "daemon/tool/logbook/bounded.hpp"
#include "daemon/tool/logbook/folder.hpp"
#include "daemon/tool/logbook/tell.hpp"
#include "daemon/tool/logbook/this_boot.hpp"
#include "daemon/tool/output.hpp"
#include "daemon/tool/terminal.hpp"
#include "logbook/summary_text.hpp"
#include "logbook/write.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::tool {
namespace {

using logbook::Run;
using ports::Message;
using ports::Priority;

/// The unit's TimeoutStopSec= is 5 s; what is left is for saying so.
constexpr Duration longest_end = std::chrono::seconds(4);
constexpr Duration longest_start = std::chrono::seconds(60);
constexpr std::size_t longest_run_summary = 4096;

int not_written(ports::Journal& journal, const char* what, const Error& error) {
    tell_failed(journal, what, error);
    return 1;
}

struct Split {
    std::string folder;
    logbook::Place place;
    std::string trouble;  ///< with the configuration that should say where
};

Split split(const LogbookFile& file) {
    const std::size_t slash = file.path.rfind('/');
    return {slash == std::string::npos ? "." : file.path.substr(0, std::max<std::size_t>(slash, 1)),
            {file.path.substr(slash == std::string::npos ? 0 : slash + 1), file.keep},
            file.trouble};
}

/// As it stands in the files now.
logbook::Book book_now(ports::Disk& disk, const logbook::Place& place, const std::string& boot) {
    const auto contents = logbook::read_contents(disk, place);
    return contents ? logbook::book_of(contents->records(), boot) : logbook::Book{};
}

std::optional<Instant> began_to_go_down(const Run& run) {
    if (!run.ended || !run.ended->summary) {
        return std::nullopt;
    }
    const logbook::Summary& summary = *run.ended->summary;
    return summary.going_down ? summary.going_down : summary.asked;
}

/// `before`: the run before, null for none.
logbook::Started started_now(const LogbookOptions& options,
                             const std::string& folder,
                             const Run* before) {
    logbook::Started record;
    record.run.boot = boot_now(options.root);
    record.at = stamp_now(options.root);
    record.version = NIGHTLATCH_VERSION;
    record.kernel = kernel_now();
    const std::vector<Volume> here = volumes(options.root, folder);
    std::transform(here.begin(),
                   here.end(),
                   std::back_inserter(record.file_systems),
                   [](const Volume& volume) { return volume.system; });
    record.evidence =
        evidence_of(options.root, here, read_boot_lines(options.root, record.run.boot));
    if (before != nullptr) {
        record.stopping = read_stopping(options.root, before->id.boot, began_to_go_down(*before));
    }
    return record;
}

/// Where a configuration that should say where cannot be read, and where it will not last: what is
/// kept in memory, or laid over what is, is gone at the next boot.
void warn_of_the_place(ports::Journal& journal,
                       const logbook::Started& record,
                       const Split& where) {
    const std::string file = where.folder + "/" + where.place.file;
    if (!where.trouble.empty()) {
        journal.say(Priority::warning,
                    Message::logbook_failed,
                    "the logbook is at " + safe(file) +
                        ", as if nothing were said of it: " + where.trouble);
    }
    constexpr std::array<std::string_view, 3> not_lasting{"overlay", "tmpfs", "ramfs"};
    if (record.file_systems.empty()) {
        return;
    }
    const logbook::FileSystem& own = record.file_systems.back();
    if (std::find(not_lasting.begin(), not_lasting.end(), own.type) != not_lasting.end()) {
        journal.say(Priority::warning,
                    Message::logbook_failed,
                    safe(file) + " is on " + safe(own.where) + " (" + safe(own.type) +
                        "), and may be gone at the next boot: name a file on a file system that "
                        "stays, [logbook] path");
    }
}

int append_start(ports::Journal& journal, const LogbookOptions& options, const Split& where) {
    auto folder = Folder::open(where.folder);
    if (!folder) {
        return not_written(journal, "the start of this run", folder.error());
    }
    const std::string boot = boot_now(options.root);
    const logbook::Book so_far = book_now(**folder, where.place, boot);
    const logbook::Started record = started_now(options, where.folder, so_far.before(boot));
    warn_of_the_place(journal, record, where);
    const auto written = logbook::append_started(**folder, where.place, record);
    if (!written) {
        return not_written(journal, "the start of this run", written.error());
    }
    tell_started(journal, book_now(**folder, where.place, record.run.boot), record.run.boot);
    return 0;
}

logbook::Ended ended_now(const LogbookOptions& options) {
    logbook::Ended record;
    record.run.boot = boot_now(options.root);
    record.at = stamp_now(options.root);
    record.target = read_target(options.root, record.run.boot);
    const auto text =
        sys::read_small_file(options.root + "/run/nightlatch/run", longest_run_summary);
    record.summary = text ? logbook::parse_summary_text(*text) : std::nullopt;
    return record;
}

int append_end(ports::Journal& journal, const LogbookOptions& options, const Split& where) {
    auto folder = Folder::open(where.folder);
    if (!folder) {
        return not_written(journal, "the end of this run", folder.error());
    }
    const auto written = logbook::append_ended(**folder, where.place, ended_now(options));
    if (!written) {
        return not_written(journal, "the end of this run", written.error());
    }
    const logbook::Book book = book_now(**folder, where.place, written->run.boot);
    if (const Run* const run = book.of_boot(written->run.boot)) {
        tell_ended(journal, *run);
    }
    return 0;
}

template <class Append>
int bounded(Duration most, const LogbookOptions& options, const char* what, Append append) {
    sys::Journal journal(Priority::info, sys::journal_socket, "nightlatch");
    const Split where = split(logbook_file(options));
    const auto status = done_within(most, [&] { return append(journal, options, where); });
    if (status) {
        return *status;
    }
    return not_written(journal,
                       what,
                       Error{Trouble::other,
                             safe(where.folder) + " did not take it within " +
                                 std::to_string(most / std::chrono::seconds(1)) +
                                 " s: the card or its controller may be failing",
                             0});
}

}  // namespace

int write_started(const LogbookOptions& options) {
    return bounded(longest_start, options, "the start of this run", append_start);
}

int write_witnessed(const LogbookOptions& options) {
    const Split where = split(logbook_file(options));
    AuditOptions audit;
    audit.config = options.config;
    const auto facts = gather(audit);
    if (!facts) {
        return complain(facts.error().text, no_answer);
    }
    const core::Verdict verdict = audit::judge_post_halt(*facts).verdict;
    logbook::Witnessed record;
    record.run.boot = boot_now(options.root);
    record.at = stamp_now(options.root);
    record.words = safe(*options.witnessed);
    record.facts = audit::to_text(grounds_now(*facts, verdict));
    auto folder = Folder::open(where.folder);
    if (!folder) {
        return complain(folder.error().text, 1);
    }
    const auto written = logbook::append_witnessed(**folder, where.place, record);
    if (!written) {
        return complain(written.error().text, 1);
    }
    print("Written down for run " + std::to_string(written->run.number) + ": " +
          in_quotes(written->words, 200) + "\n" +
          (verdict == core::Verdict::configured
               ? "The unit is proven for as long as what the verdict rests on stays as it is: "
                 "sudo nightlatch audit\n"
               : "The verdict is: " + std::string(core::text_of(verdict)) +
                     ". Only where it is \"configured\" does this prove the unit.\n"));
    return 0;
}

int write_ended(const LogbookOptions& options) {
    return bounded(longest_end, options, "the end of this run", append_end);
}

}  // namespace nightlatch::tool
