// SPDX-License-Identifier: MIT
#include "logbook/write.hpp"

#include "logbook/record_text.hpp"

#include <algorithm>
#include <set>

namespace nightlatch::logbook {
namespace {

/// All steps, up to the first that fails.
class Steps {
public:
    template <class Step>
    Steps& then(Step step) {
        if (outcome_) {
            outcome_ = step();
        }
        return *this;
    }

    [[nodiscard]] const Outcome& outcome() const { return outcome_; }

private:
    Outcome outcome_ = std::monostate{};
};

Outcome append_lines(ports::Disk& disk,
                     const Place& place,
                     const FileRead& into,
                     std::string lines) {
    if (!into.whole) {
        lines.insert(0, 1, '\n');  // what was cut off stays a line of its own
    }
    return Steps()
        .then([&] { return disk.append(place.file, lines); })
        .then([&] { return disk.sync_data(place.file); })
        .outcome();
}

Outcome create(ports::Disk& disk, const Place& place, const std::string& line) {
    return Steps()
        .then([&] { return disk.put(place.unfinished(), line); })
        .then([&] { return disk.sync(place.unfinished()); })
        .then([&] { return disk.rename(place.unfinished(), place.file); })
        .then([&] { return disk.sync_folder(); })
        .outcome();
}

Outcome add_line(ports::Disk& disk,
                 const Place& place,
                 const Contents& contents,
                 const std::string& line) {
    return contents.current_there ? append_lines(disk, place, contents.current, line)
                                  : create(disk, place, line);
}

/// What was witnessed and stands in the older file alone.
std::string lines_to_carry(const Contents& contents) {
    std::string lines;
    const std::vector<Record>& there = contents.current.records;
    for (const Record& record : contents.older.records) {
        const bool stays = std::holds_alternative<Witnessed>(record) &&
                           std::find(there.begin(), there.end(), record) == there.end();
        lines += stays ? line_of(record) : "";
    }
    return lines;
}

/// FILE becomes FILE.1. Its witnesses are safe in it before the old FILE.1 goes.
Outcome put_away(ports::Disk& disk, const Place& place, const Contents& contents) {
    const std::string carried = lines_to_carry(contents);
    Steps steps;
    if (!carried.empty()) {
        steps.then([&] { return append_lines(disk, place, contents.current, carried); });
    }
    return steps.then([&] { return disk.rename(place.file, place.older()); })
        .then([&] { return disk.sync_folder(); })
        .outcome();
}

bool is_full(const Contents& contents, const Place& place) {
    std::set<std::string_view> boots;
    for (const Record& record : contents.current.records) {
        if (!std::holds_alternative<Witnessed>(record)) {
            boots.insert(run_of(record).boot);
        }
    }
    return boots.size() >= std::max<std::size_t>(place.keep, 1);
}

std::uint64_t number_of(const Book& book, const std::string& boot) {
    if (const Run* const run = book.of_boot(boot)) {
        return run->id.number;
    }
    return book.runs.empty() ? 1 : std::min(book.runs.back().id.number + 1, most_number);
}

struct Opened {
    Contents contents;
    Book book;
};

Result<Opened> taken_up(ports::Disk& disk, const Place& place, const std::string& boot) {
    Result<Contents> contents = read_contents(disk, place);
    if (!contents) {
        return Unexpected{contents.error()};
    }
    Book book = book_of(contents->records(), boot);
    return Opened{*std::move(contents), std::move(book)};
}

/// The record, once it is safe.
template <class Kind>
Result<Kind> write(ports::Disk& disk, const Place& place, const Contents& contents, Kind record) {
    if (const Outcome added = add_line(disk, place, contents, line_of(record)); !added) {
        return Unexpected{added.error()};
    }
    return record;
}

}  // namespace

std::vector<Record> Contents::records() const {
    std::vector<Record> records = older.records;
    records.insert(records.end(), current.records.begin(), current.records.end());
    return records;
}

Result<Contents> read_contents(ports::Disk& disk, const Place& place) {
    Contents contents;
    const auto current = disk.read(place.file);
    if (!current) {
        return Unexpected{current.error()};
    }
    const auto older = disk.read(place.older());
    if (!older && !*current) {
        return Unexpected{older.error()};  // nothing would say which run this is
    }
    contents.current_there = current->has_value();
    contents.current = read_records(current->value_or(""));
    if (older) {
        contents.older = read_records(older->value_or(""));
    } else {
        contents.older_unreadable = older.error();
    }
    return contents;
}

Result<Started> append_started(ports::Disk& disk, const Place& place, Started record) {
    Result<Opened> opened = taken_up(disk, place, record.run.boot);
    if (!opened) {
        return Unexpected{opened.error()};
    }
    const Run* const ours = opened->book.of_boot(record.run.boot);
    if (ours != nullptr && ours->started) {
        return *ours->started;
    }
    record.run.number = number_of(opened->book, record.run.boot);
    if (const Run* const before = opened->book.before(record.run.boot)) {
        record.before = before->id;
    }
    // Without the older file nobody knows what was witnessed in it: it stays until it can be read.
    Contents& contents = opened->contents;
    if (contents.current_there && is_full(contents, place) && !contents.older_unreadable) {
        if (Outcome away = put_away(disk, place, contents); !away) {
            return Unexpected{away.error()};
        }
        contents.current_there = false;
    }
    return write(disk, place, contents, std::move(record));
}

Result<Ended> append_ended(ports::Disk& disk, const Place& place, Ended record) {
    const Result<Opened> opened = taken_up(disk, place, record.run.boot);
    if (!opened) {
        return Unexpected{opened.error()};
    }
    record.run.number = number_of(opened->book, record.run.boot);
    return write(disk, place, opened->contents, std::move(record));
}

Result<Witnessed> append_witnessed(ports::Disk& disk, const Place& place, Witnessed record) {
    const Result<Opened> opened = taken_up(disk, place, record.run.boot);
    if (!opened) {
        return Unexpected{opened.error()};
    }
    const Run* const run = opened->book.before(record.run.boot);
    if (run == nullptr || run->end.end != End::orderly) {
        return Unexpected{
            Error{Trouble::other,
                  run == nullptr ? "no run before this one is in the logbook"
                                 : "run " + std::to_string(run->id.number) +
                                       " ended: " + std::string(text_of(run->end.end)) +
                                       "; only after an orderly end can it be witnessed that the "
                                       "supply went",
                  0}};
    }
    record.run = run->id;
    return write(disk, place, opened->contents, std::move(record));
}

}  // namespace nightlatch::logbook
