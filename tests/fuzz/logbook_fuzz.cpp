// SPDX-License-Identifier: MIT
// A logbook after whatever became of its disk: nothing that is whole in it is lost, and what was
// read is written as it was. Chance does not find a checksum, so each line is tried with its own,
// too.
#include "base/text.hpp"
#include "fuzz/fuzz.hpp"
#include "logbook/line.hpp"
#include "logbook/overview.hpp"
#include "logbook/read.hpp"
#include "logbook/record_text.hpp"
#include "logbook/summary_text.hpp"

#include <algorithm>
#include <cstdint>
#include <string>
#include <vector>

using namespace nightlatch;
using namespace nightlatch::logbook;

namespace {

/// Two records that stand before and behind the damage.
const std::string& sound() {
    static const std::string text = [] {
        Started started;
        started.run = {7, "00000000000000000000000000000007"};
        started.version = "0.9.0";
        started.file_systems = {{"/", "ext4", true}};
        Ended ended;
        ended.run = started.run;
        ended.target = "poweroff";
        return line_of(started) + line_of(ended);
    }();
    return text;
}

/// The line's members with a length and a sum that are right, whatever it says itself.
std::string made_whole(std::string_view line) {
    const std::size_t sum_end = line.find("\",");
    if (line.starts_with("{\"length\":") && sum_end != std::string_view::npos) {
        line.remove_prefix(sum_end + 2);
        line.remove_suffix(line.ends_with('}') ? 1 : 0);
    }
    return line_around(line);
}

std::string all_made_whole(std::string_view text) {
    std::string whole;
    while (!text.empty()) {
        const std::size_t end = std::min(text.find('\n'), text.size());
        whole += made_whole(text.substr(0, end));
        text.remove_prefix(std::min(end + 1, text.size()));
    }
    return whole;
}

bool begins_with(const std::vector<Record>& all, const std::vector<Record>& some) {
    return all.size() >= some.size() && std::equal(some.begin(), some.end(), all.begin());
}

bool ends_with(const std::vector<Record>& all, const std::vector<Record>& some) {
    return all.size() >= some.size() && std::equal(some.rbegin(), some.rend(), all.rbegin());
}

/// An empty string, or the promise that is broken.
std::string broken(const std::string& text) {
    const FileRead read = read_records(text);
    const auto lines =
        static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n')) + (read.whole ? 0 : 1);
    std::size_t unread = 0;
    for (const Unread& one : read.unread) {
        unread += one.lines;
    }
    if (read.records.size() + unread != lines) {
        return "each line is a record, or told";
    }
    std::string written;
    for (const Record& record : read.records) {
        written += line_of(record);
    }
    const FileRead again = read_records(written);
    if (again.records != read.records || !again.unread.empty()) {
        return "what was read is written so that it is read again as it was";
    }
    std::string twice;
    for (const Record& record : again.records) {
        twice += line_of(record);
    }
    if (twice != written) {
        return "a record read is written again to the same line";
    }
    const Book book = book_of(read.records, "");
    const Overview overview = overview_of(book.runs);
    if (overview.presses > most_number || overview.near_misses > most_number) {
        return "a count is one that every reader of JSON takes";
    }
    const bool safe = std::all_of(book.runs.begin(), book.runs.end(), [](const Run& run) {
        return is_safe(sentence_of(run));
    });
    return safe ? "" : "the sentence on a run is one printable line";
}

std::string broken_neighbours(const std::string& text) {
    const std::vector<Record> kept = read_records(sound()).records;
    return kept.size() == 2 && begins_with(read_records(sound() + text).records, kept) &&
                   ends_with(read_records(text + '\n' + sound()).records, kept)
               ? ""
               : "damage costs no line but its own";
}

std::string broken_summary(std::string_view text) {
    const std::optional<Summary> summary = parse_summary_text(text);
    return !summary || parse_summary_text(summary_text(*summary)) == summary
               ? ""
               : "a summary that was read is written so that it is read again as it was";
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string text(reinterpret_cast<const char*>(data), size);
    test::expect_kept(broken(text));
    test::expect_kept(broken(all_made_whole(text)));
    test::expect_kept(broken_neighbours(text));
    test::expect_kept(broken_summary(text));
    return 0;
}
