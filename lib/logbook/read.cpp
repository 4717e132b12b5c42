// SPDX-License-Identifier: MIT
#include "logbook/read.hpp"

#include "logbook/line.hpp"
#include "logbook/record_text.hpp"

#include <algorithm>

namespace nightlatch::logbook {
namespace {

struct Line {
    std::string_view text;  ///< without its end
    std::size_t number = 0;
    bool ended = false;
};

void add_unread(const Line& line, Unreadable why, std::vector<Unread>& unread) {
    const std::size_t bytes = line.text.size() + (line.ended ? 1 : 0);
    const bool goes_on = !unread.empty() && unread.back().why == why &&
                         unread.back().line + unread.back().lines == line.number;
    if (!goes_on) {
        unread.push_back({why, line.number, 0, 0});
    }
    ++unread.back().lines;
    unread.back().bytes += bytes;
}

void take(const Line& line, FileRead& into) {
    const std::optional<std::string_view> members = members_of_line(line.text);
    if (!members) {
        add_unread(line, line.ended ? Unreadable::damaged : Unreadable::torn, into.unread);
        return;
    }
    std::variant<Record, NoRecord> seen = record_of(*members);
    if (auto* const record = std::get_if<Record>(&seen)) {
        into.records.push_back(std::move(*record));
        return;
    }
    const bool later = *std::get_if<NoRecord>(&seen) == NoRecord::later_version;
    add_unread(line, later ? Unreadable::later_version : Unreadable::unknown, into.unread);
}

}  // namespace

FileRead read_records(std::string_view text) {
    FileRead read;
    read.whole = text.empty() || text.ends_with('\n');
    for (std::size_t number = 1; !text.empty(); ++number) {
        const std::size_t end = std::min(text.find('\n'), text.size());
        take({text.substr(0, end), number, end < text.size()}, read);
        text.remove_prefix(std::min(end + 1, text.size()));
    }
    return read;
}

}  // namespace nightlatch::logbook
