// SPDX-License-Identifier: MIT
#include "logbook/overview.hpp"
#include "logbook/stopping.hpp"
#include "unit/logbook/made.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::logbook;
using std::chrono::milliseconds;
using What = StopLine::What;

namespace {

StopLine line(What what, int ms, std::string unit) {
    return {what, Instant(milliseconds(ms)), std::move(unit)};
}

Stopping logger_was_slow() {
    return {"tide-logger.service", milliseconds(3'200), {}, {}, "poweroff.target"};
}

std::vector<Record> a_run(unsigned number, std::optional<Stopping> stopping) {
    Started next = test::started(number + 1);
    next.stopping = std::move(stopping);
    return {test::started(number), test::ended(number), next};
}

Run first_of(std::vector<Record> records) {
    return book_of(std::move(records), "").runs.front();
}

}  // namespace

TEST_CASE("the service that took longest between being told to stop and having stopped",
          "[logbook]") {
    const Stopping stopping = stopping_of(std::vector{line(What::stopping, 0, "quick.service"),
                                                      line(What::stopping, 0, "slow.service"),
                                                      line(What::stopped, 40, "quick.service"),
                                                      line(What::stopped, 900, "slow.service"),
                                                      line(What::stopping, 901, "late.service"),
                                                      line(What::stopped, 1'500, "late.service"),
                                                      line(What::reached, 1'600, "umount.target"),
                                                      line(What::reached, 1'700, "final.target")});
    CHECK(stopping == Stopping{"slow.service", milliseconds(900), {}, {}, "final.target"});
}

TEST_CASE("what waits for others is not what holds them up", "[logbook]") {
    const Stopping stopping = stopping_of(std::vector{line(What::stopping, 0, "basic.target"),
                                                      line(What::stopping, 0, "data.mount"),
                                                      line(What::stopped, 700, "data.mount"),
                                                      line(What::stopped, 800, "basic.target"),
                                                      line(What::stopped, 900, "tide.service")});
    CHECK(stopping.slowest.empty());
}

TEST_CASE("what ran out of time, and what was never seen to stop", "[logbook]") {
    const Stopping stopping = stopping_of(std::vector{line(What::stopping, 0, "tide.service"),
                                                      line(What::stopping, 0, "buoy.service"),
                                                      line(What::timed_out, 5'000, "tide.service"),
                                                      line(What::timed_out, 9'000, "tide.service"),
                                                      line(What::stopped, 9'100, "tide.service")});
    CHECK(stopping.timed_out == std::vector<std::string>{"tide.service"});
    CHECK(stopping.unfinished == std::vector<std::string>{"buoy.service"});
    CHECK(stopping_of({}) == Stopping{});
}

TEST_CASE("a run says what took the time where its journal was there", "[logbook]") {
    CHECK(why_slow(first_of(a_run(1, logger_was_slow()))) ==
          "tide-logger.service took longest to stop, 3.200 s");
    CHECK(why_slow(first_of(a_run(1, std::nullopt))).empty());
    Stopping hung = logger_was_slow();
    hung.timed_out = {"tide-logger.service"};
    CHECK(why_slow(first_of(a_run(1, hung))) ==
          "tide-logger.service took longest to stop, 3.200 s; tide-logger.service did not stop in "
          "time and had to be killed");
    hung.unfinished = {"buoy.service"};
    Started next = test::started(2);
    next.stopping = hung;
    CHECK(why_slow(first_of({test::started(1), next})) ==
          "tide-logger.service took longest to stop, 3.200 s; tide-logger.service did not stop in "
          "time and had to be killed; buoy.service had been told to stop; it got as far as "
          "poweroff.target");
}

TEST_CASE("what held most runs up, by their number and then by its time", "[logbook]") {
    std::vector<Record> all;
    const auto add = [&](unsigned number, const char* unit, int ms) {
        const auto records = a_run(number, Stopping{unit, milliseconds(ms), {}, {}, ""});
        all.insert(all.end(), records.begin(), records.end());
    };
    add(1, "buoy.service", 9'000);
    add(3, "tide.service", 100);
    add(5, "tide.service", 300);
    const Overview overview = overview_of(book_of(all, "").runs);
    REQUIRE(overview.most);
    CHECK(overview.most->unit == "tide.service");
    CHECK(overview.most->runs == 2);
    CHECK(overview.most->longest == milliseconds(300));
    CHECK_FALSE(overview_of(book_of(a_run(1, std::nullopt), "").runs).most);
}

TEST_CASE("how long it was off is known only where the clock was set at both ends", "[logbook]") {
    const DayClock::time_point noon(std::chrono::hours(500'000));
    Ended end = test::ended(1);
    end.at.day = noon;
    Started next = test::started(2);  // 4.12 s after the kernel's start
    next.at.day = noon + milliseconds(7'120);
    const Run run = first_of({test::started(1), end, next});
    CHECK(run.off == milliseconds(3'000));
    CHECK(came_back_soon(run));
    next.at.day = noon + std::chrono::hours(8);
    CHECK_FALSE(came_back_soon(first_of({test::started(1), end, next})));
    next.at.day = noon - milliseconds(1);  // it was set back meanwhile
    CHECK_FALSE(first_of({test::started(1), end, next}).off);
    next.at.day = noon + milliseconds(7'120);
    end.target = "reboot";
    CHECK_FALSE(came_back_soon(first_of({test::started(1), end, next})));
    end.at.day.reset();
    CHECK_FALSE(first_of({test::started(1), end, next}).off);
    end.at.day = noon;
    next.at.day.reset();
    CHECK_FALSE(first_of({test::started(1), end, next}).off);
}
