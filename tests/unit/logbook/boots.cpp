// SPDX-License-Identifier: MIT
#include "unit/logbook/boots.hpp"

#include "unit/logbook/made.hpp"

#include <algorithm>

namespace nightlatch::test {
namespace {

using logbook::End;
using logbook::Looker;
using logbook::Saw;

logbook::Started start_of(unsigned boot, Before before) {
    logbook::Started record = started(boot);
    record.before.reset();
    Saw check = before == Before::clean ? Saw::clean : Saw::recovery;
    check = before == Before::crashed_not_heard ? Saw::unreadable : check;
    check = before == Before::crashed_kernel_only ? Saw::not_there : check;
    record.kernel.clear();  // short lines: each of their lengths is tried
    record.evidence = {{Looker::fsck_log, check, "/", "", ""},
                       {Looker::kernel, Saw::clean, "/", "", ""}};
    return record;
}

bool has(const std::vector<logbook::Record>& records, const logbook::Record& wanted) {
    return std::find(records.begin(), records.end(), wanted) != records.end();
}

/// Are the last `keep` runs certain to be there, and this one among them?
bool is_kept(const logbook::Record& record, std::uint64_t last, std::size_t keep) {
    return std::holds_alternative<logbook::Witnessed>(record) ||
           logbook::run_of(record).number + keep > last;
}

}  // namespace

const logbook::Place Boots::place{"logbook.jsonl", 2};

bool Boots::confirm(const auto& result) {
    if (result) {
        confirmed_.push_back(*result);
    } else if (refused_.empty()) {
        refused_ = "boot " + std::to_string(boots_) + ": " + result.error().text;
    }
    return result.has_value();
}

bool Boots::boot(CrashDisk& disk, ports::Disk& calls, Before before) {
    const std::string last = boots_ == 0 ? "" : boot_id(boots_);
    ++boots_;
    const std::string id = boot_id(boots_);
    if (confirm(logbook::append_started(calls, place, start_of(boots_, before)))) {
        const bool told = before == Before::clean && clean_.contains(last);
        if (told) {
            told_clean_.insert(last);
        }
        if (boots_ == 2 && told) {
            confirm(logbook::append_witnessed(
                calls, place, {{0, id}, {}, "rail to 0 V, 2.1 s", "line = 6\n"}));
        }
    }
    confirm(logbook::append_ended(calls, place, {{0, id}, {}, "poweroff", {}}));
    if (disk.unmount()) {
        clean_.insert(id);
    }
    if (disk.crashed()) {
        refused_.clear();  // it was the supply that refused
    }
    return !disk.crashed();
}

std::string Boots::wrong(ports::Disk& disk) const {
    const auto contents = logbook::read_contents(disk, place);
    if (!contents || !refused_.empty()) {
        return "refused: " + refused_;
    }
    const std::vector<logbook::Record> records = contents->records();
    const logbook::Book book = logbook::book_of(records, "");
    const std::uint64_t last = book.runs.empty() ? 0 : book.runs.back().id.number;
    for (const logbook::Record& record : confirmed_) {
        if (is_kept(record, last, place.keep) && !has(records, record)) {
            return "lost a confirmed record of run " +
                   std::to_string(logbook::run_of(record).number);
        }
    }
    for (const logbook::Run& run : book.runs) {
        const bool orderly = run.end.end == End::orderly;
        const bool kept = run.id.number + place.keep > last && run.id.number != last;
        if (orderly && !clean_.contains(run.id.boot)) {
            return "orderly, and the supply was lost: run " + std::to_string(run.id.number);
        }
        if (!orderly && kept && told_clean_.contains(run.id.boot)) {
            return "not orderly, and it ended in order: run " + std::to_string(run.id.number);
        }
    }
    return "";
}

}  // namespace nightlatch::test
