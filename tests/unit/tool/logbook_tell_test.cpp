// SPDX-License-Identifier: MIT
// What the journal is told of the logbook: once a start, once an end, and of a failure what to do.
#include "base/account.hpp"
#include "daemon/tool/logbook/tell.hpp"
#include "unit/logbook/made.hpp"

#include <cerrno>
#include <map>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using Catch::Matchers::EndsWith;
using Catch::Matchers::StartsWith;
using logbook::Book;
using logbook::Record;
using logbook::Saw;
using ports::Message;
using ports::Priority;

namespace {

using Fields = std::map<std::string, std::string>;

struct Line {
    Priority priority = Priority::debug;
    Message message = Message::plain;
    std::string text{};
    Fields fields{};
};

/// Keeps the last line said.
class LastSaid final : public ports::Journal {
public:
    [[nodiscard]] bool wants(Priority) const noexcept override { return true; }

    using ports::Journal::say;

    void say(Priority priority,
             Message message,
             const std::string& text,
             std::span<const ports::Field> fields) override {
        line = {priority, message, text, {}};
        for (const ports::Field& field : fields) {
            line.fields[std::string(field.name)] = field.value;
        }
    }

    Line line;
};

Line told_of_start(std::vector<Record> records, unsigned boot) {
    LastSaid said;
    const std::string id = test::boot_id(boot);
    tool::tell_started(said, logbook::book_of(std::move(records), id), id);
    return said.line;
}

}  // namespace

TEST_CASE("a start is told with how the run before it ended", "[logbook]") {
    const Line first = told_of_start({test::started(1)}, 1);
    CHECK(first.message == Message::run_started);
    CHECK(first.text == "run 1 is the logbook's first");
    CHECK(first.fields == Fields{{"RUN", "1"}});

    const Line orderly = told_of_start({test::started(1), test::ended(1), test::started(2)}, 2);
    CHECK(orderly.message == Message::run_started);
    CHECK(orderly.priority == Priority::notice);
    CHECK_THAT(orderly.text, StartsWith("this is run 2; run 1: it shut down in order, in 3.000 s"));
    CHECK(orderly.fields ==
          Fields{{"RUN", "2"}, {"BEFORE", "1"}, {"END", "orderly"}, {"TOOK_USEC", "3000000"}});
}

TEST_CASE("a run that was lost, or whose end was not seen, is a warning", "[logbook]") {
    const Line lost = told_of_start({test::started(1), test::started(2)}, 2);
    CHECK(lost.priority == Priority::warning);
    CHECK_THAT(lost.text, StartsWith("this is run 2; run 1: it recorded no end"));
    CHECK(lost.fields == Fields{{"RUN", "2"}, {"BEFORE", "1"}, {"END", "lost"}});

    const Line left =
        told_of_start({test::started(1), test::ended(1), test::started(2, Saw::recovery)}, 2);
    CHECK(left.priority == Priority::warning);
    CHECK(left.fields.at("END") == "left");
}

TEST_CASE("nothing is said of a boot that is not in the book", "[logbook]") {
    CHECK(told_of_start({test::started(1)}, 2).text.empty());
}

TEST_CASE("an end is told with how long going down took so far", "[logbook]") {
    LastSaid said;
    const std::string boot = test::boot_id(1);
    const Book book = logbook::book_of({test::started(1), test::ended(1)}, boot);
    tool::tell_ended(said, *book.of_boot(boot));
    CHECK(said.line.message == Message::run_ended);
    CHECK(said.line.priority == Priority::notice);
    CHECK(said.line.text == "run 1 ends (poweroff), 3.000 s after going down began");
    CHECK(said.line.fields ==
          Fields{{"RUN", "1"}, {"TARGET", "poweroff"}, {"TOOK_USEC", "3000000"}});

    logbook::Ended bare = test::ended(1);
    bare.target = "";
    bare.summary.reset();
    const Book other = logbook::book_of({test::started(1), bare}, boot);
    tool::tell_ended(said, *other.of_boot(boot));
    CHECK(said.line.text == "run 1 ends");
    CHECK(said.line.fields == Fields{{"RUN", "1"}});
}

TEST_CASE("a record that could not be written down is told with what to do", "[logbook]") {
    const std::pair<int, std::string> cases[] = {
        {ENOSPC, "make room on its file system"},
        {EROFS, "with path under [logbook]"},
        {EACCES, "must be the account " + service_account_name() + "'s"},
        {ENOENT, "its folder must be there, and be the account " + service_account_name() + "'s"},
        {EIO, "journalctl -k says whether its disk has trouble"},
    };
    for (const auto& [number, remedy] : cases) {
        LastSaid said;
        tool::tell_failed(
            said, "the end of this run", {Trouble::other, "/tide/logbook.jsonl: bad", number});
        CHECK(said.line.message == Message::logbook_failed);
        CHECK(said.line.priority == Priority::error);
        CHECK_THAT(said.line.text,
                   StartsWith("the end of this run is not in the logbook: /tide/logbook.jsonl: "
                              "bad; "));
        CHECK_THAT(said.line.text, EndsWith(remedy));
    }
}
