// SPDX-License-Identifier: MIT
#include "logbook/line.hpp"
#include "logbook/read.hpp"
#include "logbook/record_text.hpp"
#include "unit/logbook/made.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::logbook;

namespace {

const std::string first = line_of(test::started(1));
const std::string second = line_of(test::ended(1));

}  // namespace

TEST_CASE("an empty file is whole and has no records", "[logbook]") {
    CHECK(read_records("").whole);
    CHECK(read_records("").records.empty());
    CHECK(read_records("").unread.empty());
}

TEST_CASE("a torn tail is told, and what stands before it is read", "[logbook]") {
    for (std::size_t bytes = 1; bytes + 1 < second.size(); ++bytes) {
        INFO(bytes);
        const FileRead read = read_records(first + second.substr(0, bytes));
        CHECK(read.records == std::vector<Record>{test::started(1)});
        REQUIRE(read.unread.size() == 1);
        CHECK(read.unread[0].why == Unreadable::torn);
        CHECK(read.unread[0].line == 2);
        CHECK(read.unread[0].bytes == bytes);
        CHECK_FALSE(read.whole);
    }
}

TEST_CASE("a record that lacks its line's end alone is read, and the file is not whole",
          "[logbook]") {
    const FileRead read = read_records(first + second.substr(0, second.size() - 1));
    CHECK(read.records.size() == 2);
    CHECK_FALSE(read.whole);
}

TEST_CASE("a line that was cut off hides none that was written after it", "[logbook]") {
    const FileRead read =
        read_records(first.substr(0, 40) + "\n" + std::string(9, '\0') + "\n" + second);
    CHECK(read.records == std::vector<Record>{test::ended(1)});
    REQUIRE(read.unread.size() == 1);
    CHECK(read.unread[0].why == Unreadable::damaged);
    CHECK(read.unread[0].line == 1);
    CHECK(read.unread[0].lines == 2);
    CHECK(read.unread[0].bytes == 51);
    CHECK(read.whole);
}

TEST_CASE("each reason for not reading a line is told by itself", "[logbook]") {
    const FileRead read =
        read_records(line_around("\"version\":9") + line_around("\"version\":1") + "tide\n" + "to");
    REQUIRE(read.unread.size() == 4);
    CHECK(read.unread[0].why == Unreadable::later_version);
    CHECK(read.unread[1].why == Unreadable::unknown);
    CHECK(read.unread[2].why == Unreadable::damaged);
    CHECK(read.unread[3].why == Unreadable::torn);
}
