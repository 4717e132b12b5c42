// SPDX-License-Identifier: MIT
#include "logbook/book.hpp"
#include "logbook/line.hpp"
#include "logbook/read.hpp"
#include "logbook/record_text.hpp"
#include "unit/logbook/made.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::logbook;
using Catch::Matchers::ContainsSubstring;

namespace {

Record read_back(const Record& record) {
    const FileRead read = read_records(line_of(record));
    CHECK(read.unread.empty());
    REQUIRE(read.records.size() == 1);
    return read.records.front();
}

std::variant<Record, NoRecord> of_members(const std::string& members) {
    return record_of(members);
}

bool is(const std::variant<Record, NoRecord>& seen, NoRecord why) {
    return seen == std::variant<Record, NoRecord>(why);
}

}  // namespace

TEST_CASE("each kind of record is read as it was written", "[logbook]") {
    Started earliest = test::started(1);
    Started later = test::started(17);
    later.at.day = DayClock::time_point(std::chrono::microseconds(1'764'570'000'000'000));
    later.file_systems.push_back({"/var/lib/nightlatch", "f2fs", false});
    later.evidence = {test::said(Looker::fsck_unit, Saw::recovery),
                      test::said(Looker::f2fs_status, Saw::not_there, "/var/lib/nightlatch"),
                      test::said(Looker::pstore, Saw::words, ""),
                      test::said(Looker::reset_cause, Saw::unreadable, "")};
    later.stopping = Stopping{"tide-logger.service",
                              std::chrono::milliseconds(3'200),
                              {"tide-logger.service", "buoy.service"},
                              {"buoy.service"},
                              "umount.target"};
    Started silent = test::started(18);
    silent.stopping = Stopping{};
    Ended dead = test::ended(3);
    dead.summary.reset();
    Ended quiet = test::ended(4);
    quiet.summary = Summary{};
    const Witnessed witnessed{
        test::run_id(2), {}, "rail to 0 V, 2.1 s", "kernel = 6.12.41\nline = 6\n"};
    for (const Record& record :
         std::vector<Record>{earliest, later, silent, test::ended(2), dead, quiet, witnessed}) {
        INFO(line_of(record));
        CHECK(read_back(record) == record);
    }
}

TEST_CASE("a clock that had not been set leaves no time of day", "[logbook]") {
    CHECK_THAT(line_of(test::started(1)), !ContainsSubstring("day_us"));
    CHECK(std::get<Started>(read_back(test::started(1))).at.day == std::nullopt);
}

TEST_CASE("times are whole microseconds", "[logbook]") {
    Started record = test::started(1);
    record.at.up = Instant(std::chrono::nanoseconds(4'120'000'999));
    CHECK_THAT(line_of(record), ContainsSubstring("\"up_us\":4120000,"));
}

TEST_CASE("what a later version wrote is not a record, and not damaged", "[logbook]") {
    CHECK(is(of_members("\"version\":2,\"kind\":\"started\",\"run\":1,\"boot\":\"a\""),
             NoRecord::later_version));
    CHECK(is(of_members("\"version\":1,\"kind\":\"tide\",\"run\":1,\"boot\":\"a\""),
             NoRecord::unknown));
    CHECK(is(of_members("\"kind\":\"started\",\"run\":1,\"boot\":\"a\""), NoRecord::unknown));
    CHECK(is(of_members("\"version\":1,\"kind\":\"ended\",\"run\":0,\"boot\":\"a\""),
             NoRecord::unknown));
    CHECK(is(of_members("\"version\":1,\"kind\":\"ended\",\"run\":1"), NoRecord::unknown));
    CHECK(is(of_members("tide"), NoRecord::unknown));
}

TEST_CASE("members that are not known yet are passed over, an unknown sight is not a clean one",
          "[logbook]") {
    const auto seen =
        of_members("\"version\":1,\"kind\":\"started\",\"run\":2,\"boot\":\"a\",\"tide\":\"high\","
                   "\"evidence\":["
                   "{\"by\":\"moon\",\"saw\":\"clean\",\"of\":\"/\"},"
                   "{\"by\":\"kernel\",\"saw\":\"perhaps\",\"of\":\"/\"}]");
    const auto* const record = std::get_if<Record>(&seen);
    REQUIRE(record != nullptr);
    const auto& started = std::get<Started>(*record);
    REQUIRE(started.evidence.size() == 1);
    CHECK(started.evidence[0].saw == Saw::unreadable);
}

TEST_CASE("numbers at the ends of their range stay in it", "[logbook]") {
    Ended record = test::ended(1);
    record.run.number = UINT64_MAX;
    record.summary->presses = UINT64_MAX;
    const auto back = std::get<Ended>(read_back(record));
    CHECK(back.run.number == most_number);
    CHECK(back.summary->presses == most_number);
    const auto seen = of_members(
        "\"version\":1,\"kind\":\"ended\",\"run\":1,\"boot\":\"a\",\"service\":true,"
        "\"up_us\":9223372036854775807,\"asked_us\":-9223372036854775808,\"presses\":-1");
    const auto& ended = std::get<Ended>(*std::get_if<Record>(&seen));
    CHECK(ended.at.up == Instant{});
    CHECK(ended.summary->asked == std::nullopt);
    CHECK(ended.summary->presses == 0);
}

TEST_CASE("whatever numbers a line has, the times reckoned from them are in range", "[logbook]") {
    const std::string far[] = {"9223372036854775807",
                               "-9223372036854775808",
                               "9223372036854775",
                               "-9223372036854775",
                               std::to_string(most_day_us),
                               std::to_string(most_up_us),
                               "0"};
    const std::string head = "\"version\":1,\"run\":";
    for (const std::string& day : far) {
        for (const std::string& up : far) {
            for (const std::string& other : far) {
                INFO(day << ' ' << up << ' ' << other);
                const auto ended = of_members(
                    head + "1,\"boot\":\"a\",\"kind\":\"ended\",\"service\":true,\"up_us\":" + up +
                    ",\"day_us\":" + other + ",\"going_down_us\":" + other);
                const auto started =
                    of_members(head + "2,\"boot\":\"b\",\"kind\":\"started\",\"before_run\":1," +
                               "\"before_boot\":\"a\",\"up_us\":" + up + ",\"day_us\":" + day);
                // The sanitizer sees what overflows.
                const Book book = book_of({std::get<Record>(ended), std::get<Record>(started)}, "");
                const Run& run = book.runs.front();
                CHECK(run.off.value_or(Duration{}) >= Duration{});
                CHECK(run.going_down().value_or(Duration{}) >= Duration{});
            }
        }
    }
}
