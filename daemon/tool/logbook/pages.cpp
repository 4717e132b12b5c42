// SPDX-License-Identifier: MIT
#include "daemon/tool/logbook/pages.hpp"

#include "daemon/facts/files.hpp"
#include "logbook/write.hpp"

#include <algorithm>

namespace nightlatch::tool {
namespace {

using logbook::End;
using logbook::Run;

/// 400 runs are half a megabyte. More than a board's memory can hold is nobody's logbook.
constexpr std::size_t most_bytes = std::size_t{64} << 20U;

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

}  // namespace

const Run* Pages::last_judged() const {
    const auto found = std::find_if(runs.rbegin(), runs.rend(), [](const Run& run) {
        return run.end.end != End::running && run.end.end != End::not_looked;
    });
    return found == runs.rend() ? nullptr : &*found;
}

const char* end_word(End end) noexcept {
    switch (end) {
    case End::running:
        return "running";
    case End::orderly:
        return "orderly";
    case End::left:
        return "left";
    case End::lost:
        return "lost";
    case End::lost_last_words:
        return "lost-last-words";
    case End::unknowable:
        return "unknowable";
    case End::not_looked:
        return "not-looked";
    }
    return "";
}

std::string boot_now(const std::string& root) {
    const auto id = facts::read_value(root, "/proc/sys/kernel/random/boot_id");
    std::string digits = id ? *id : "";
    std::erase(digits, '-');
    return digits;
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

}  // namespace nightlatch::tool
