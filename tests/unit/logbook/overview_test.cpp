// SPDX-License-Identifier: MIT
#include "logbook/overview.hpp"
#include "unit/logbook/made.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::logbook;
using Catch::Matchers::ContainsSubstring;
using std::chrono::seconds;

namespace {

/// It took so long to go down; the next one finds its root in order.
void add_run(std::vector<Record>& records, unsigned number, int went_down_in) {
    Ended end = test::ended(number);
    end.at.up = *end.summary->going_down + seconds(went_down_in);
    records.emplace_back(test::started(number));
    records.emplace_back(end);
}

Run judged(bool wrote_its_end, Started next) {
    std::vector<Record> records{test::started(1)};
    if (wrote_its_end) {
        records.emplace_back(test::ended(1));
    }
    records.emplace_back(std::move(next));
    return book_of(records, "").runs.front();
}

}  // namespace

TEST_CASE("the longest time to go down and the middle one are over all that is known",
          "[logbook]") {
    std::vector<Record> records;
    unsigned number = 0;
    for (const int time : {4, 9, 3, 5}) {
        add_run(records, ++number, time);
    }
    records.emplace_back(test::started(5));  // lost
    records.emplace_back(test::started(6));  // goes on
    const Book book = book_of(records, test::boot_id(6));
    const Overview overview = overview_of(book.runs);
    CHECK(overview.runs == 6);
    CHECK(overview.orderly == 4);
    CHECK(overview.lost == 1);
    CHECK(overview.left + overview.unknown == 0);
    CHECK(overview.presses == 12);
    CHECK(overview.near_misses == 4);
    CHECK(overview.median == seconds(4));
    REQUIRE(overview.longest);
    CHECK(overview.longest->time == seconds(9));
    CHECK(overview.longest->run == 2);
}

TEST_CASE("of nothing there is no time to go down", "[logbook]") {
    const Overview overview = overview_of({});
    CHECK(overview.runs == 0);
    CHECK(overview.median == std::nullopt);
    CHECK_FALSE(overview.longest);
}

TEST_CASE("one sentence says how a run ended and where that is from", "[logbook]") {
    Started words = test::started(2);
    words.evidence.push_back(
        {Looker::pstore, Saw::words, "", "/var/lib/systemd/pstore/1", "Oops\x1b[2J"});
    Started overlay = test::started(2);
    overlay.file_systems = {{"/", "overlay", true}};
    Started mute = test::started(2);
    mute.evidence.clear();
    const std::pair<Run, const char*> cases[] = {
        {judged(true, test::started(2)),
         "it shut down in order, in 3.000 s (/run/initramfs/fsck.log: tide: 412"},
        {judged(true, test::started(2, Saw::recovery)),
         "but / had to be recovered (/run/initramfs"},
        {judged(true, test::started(2, Saw::unreadable)),
         "but whether / was left in order could not be read (/run/"},
        {judged(true, mute), "but nothing says whether"},
        {judged(true, words),
         "but then the kernel gave up (/var/lib/systemd/pstore/1: Oops\\u001B"},
        {judged(false, words),
         "the kernel's last words: /var/lib/systemd/pstore/1: Oops\\u001B[2J"},
        {judged(false, test::started(2)), "it recorded no end: power was lost"},
        {judged(true, overlay), "/ (overlay) does not tell"},
        {book_of({test::started(1)}, "").runs[0],
         "it has recorded no end, and no later run has checked"},
        {book_of({test::ended(1)}, "").runs[0], "it recorded its end, and no later run"},
        {book_of({test::started(1)}, test::boot_id(1)).runs[0], "it is running"},
    };
    for (const auto& [run, wanted] : cases) {
        CHECK_THAT(sentence_of(run), ContainsSubstring(wanted));
    }
}
