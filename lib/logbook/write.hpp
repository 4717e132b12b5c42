// SPDX-License-Identifier: MIT
#pragma once

#include "logbook/book.hpp"
#include "logbook/ports/disk.hpp"
#include "logbook/read.hpp"

#include <cstddef>
#include <string>
#include <vector>

/// Writing to the logbook. Whoever calls holds its lock: one writer at a time.
///
/// A record that a call has confirmed is safe from a loss of power, and so is each before it. The
/// logbook is two files: FILE, and FILE.1, which was FILE until it had `keep` runs; so the last
/// `keep` runs are always there, at most twice as many, and no boot writes all of them anew. What
/// was witnessed is carried over before an old FILE.1 goes. FILE.new is a file that was never
/// finished.
namespace nightlatch::logbook {

struct Place {
    std::string file;        ///< its name in the disk's folder
    std::size_t keep = 400;  ///< runs, at least 1

    [[nodiscard]] std::string older() const { return file + ".1"; }

    [[nodiscard]] std::string unfinished() const { return file + ".new"; }
};

/// Both files.
struct Contents {
    FileRead older;
    FileRead current;
    bool current_there = false;
    std::optional<Error> older_unreadable{};

    /// Of both, the older first.
    [[nodiscard]] std::vector<Record> records() const;
};

/// Fails when FILE cannot be read, or neither can; what is damaged in them is not a failure.
Result<Contents> read_contents(ports::Disk& disk, const Place& place);

/// The record of this boot's start; what `run` and `before` have is filled in. One that is there
/// already is returned, and nothing is written.
Result<Started> append_started(ports::Disk& disk, const Place& place, Started record);

/// `record.run.boot` says which; the number is filled in. Works without a record of the start, too.
Result<Ended> append_ended(ports::Disk& disk, const Place& place, Ended record);

/// Of the run before this boot's, which must have ended in order; else a sentence that says why
/// not. `record.run.boot` is this boot's.
Result<Witnessed> append_witnessed(ports::Disk& disk, const Place& place, Witnessed record);

}  // namespace nightlatch::logbook
