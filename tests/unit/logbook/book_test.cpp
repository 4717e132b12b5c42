// SPDX-License-Identifier: MIT
#include "logbook/book.hpp"
#include "unit/logbook/made.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::logbook;

namespace {

std::vector<End> ends(const Book& book) {
    std::vector<End> all;
    for (const Run& run : book.runs) {
        all.push_back(run.end.end);
    }
    return all;
}

}  // namespace

TEST_CASE("each run's end is what the next one found", "[logbook]") {
    const Book book = book_of({test::started(1),
                               test::ended(1),
                               test::started(2),
                               test::started(3),
                               test::ended(3),
                               test::started(4, Saw::recovery)},
                              test::boot_id(4));
    CHECK(ends(book) == std::vector{End::orderly, End::lost, End::left, End::running});
}

TEST_CASE("a run that no later one has looked at is not judged", "[logbook]") {
    CHECK(ends(book_of({test::started(1), test::ended(1)}, "")) == std::vector{End::not_looked});
    // Run 2 is not in it: what run 3 saw is about that one.
    CHECK(ends(book_of({test::started(1), test::ended(1), test::started(3)}, test::boot_id(3))) ==
          std::vector{End::not_looked, End::running});
}

TEST_CASE("runs are in the order of their numbers, whatever that of the file", "[logbook]") {
    const Book book =
        book_of({test::started(2), test::ended(1), test::started(1)}, test::boot_id(2));
    REQUIRE(book.runs.size() == 2);
    CHECK(book.runs[0].id == test::run_id(1));
    CHECK(book.runs[0].end.end == End::orderly);
    CHECK(book.before(test::boot_id(2)) == &book.runs[0]);
    CHECK(book.of_boot(test::boot_id(2)) == &book.runs[1]);
    CHECK(book.of_boot("tide") == nullptr);
    CHECK(Book{}.before("tide") == nullptr);
}

TEST_CASE("an older end that turns up again ends no other run", "[logbook]") {
    const Book book = book_of(
        {test::started(1), test::ended(1), test::started(2), test::ended(1), test::started(3)},
        test::boot_id(3));
    CHECK(ends(book) == std::vector{End::orderly, End::lost, End::running});
}

TEST_CASE("two that say that they came after one run must agree that it ended in order",
          "[logbook]") {
    Started second = test::started(3, Saw::recovery);
    second.before = test::run_id(1);
    CHECK(ends(book_of({test::started(1), test::ended(1), test::started(2), second}, ""))[0] ==
          End::left);
    CHECK(ends(book_of({test::started(1), test::ended(1), second, test::started(2)}, ""))[0] ==
          End::left);
}

TEST_CASE("a unit that was started twice changes nothing, one that ended twice counts the last",
          "[logbook]") {
    Started again = test::started(2, Saw::recovery);
    Ended later = test::ended(2);
    later.target = "reboot";
    const Book book = book_of(
        {test::started(1), test::ended(1), test::started(2), again, test::ended(2), later}, "");
    CHECK(ends(book)[0] == End::orderly);
    CHECK(book.runs[1].ended->target == "reboot");
}

TEST_CASE("what was witnessed stands once beside its run, which may be gone", "[logbook]") {
    const Witnessed witnessed{test::run_id(1), {}, "rail to 0 V", ""};
    const Book book = book_of({witnessed, test::started(2), witnessed}, test::boot_id(2));
    REQUIRE(book.runs.size() == 2);
    CHECK(book.runs[0].witnessed.size() == 1);
    CHECK(book.runs[0].end.end == End::orderly);  // it is refused after any other
}

TEST_CASE("going down lasts from the shutdown's beginning, else from the request", "[logbook]") {
    using std::chrono::seconds;
    Run run;
    CHECK(run.going_down() == std::nullopt);
    run.ended = test::ended(1);
    CHECK(run.going_down() == seconds(3));
    run.ended->summary->going_down.reset();
    CHECK(run.going_down() == seconds(4));
    run.ended->summary->asked = Instant(seconds(9'000));  // after the end: another clock's
    CHECK(run.going_down() == std::nullopt);
    run.ended->summary.reset();
    CHECK(run.going_down() == std::nullopt);
}
