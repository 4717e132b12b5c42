// SPDX-License-Identifier: MIT
#include "daemon/sys/journal.hpp"
#include "daemon/sys/message_ids.hpp"
#include "journal_socket.hpp"
#include "notify_socket.hpp"
#include "support/temporary_directory.hpp"

#include <array>
#include <fstream>
#include <set>
#include <sstream>

#include <catch2/catch_test_macros.hpp>
#include <fcntl.h>

namespace nightlatch::sys {
namespace {

using ports::Field;
using ports::Message;
using ports::Priority;

/// Puts a pipe in stderr's place for as long as it lives.
class CapturedStderr {
public:
    CapturedStderr() : saved_(fcntl(STDERR_FILENO, F_DUPFD_CLOEXEC, 0)) {
        std::array<int, 2> ends{};
        REQUIRE(pipe2(ends.data(), O_CLOEXEC | O_NONBLOCK) == 0);
        reader_ = ends[0];
        REQUIRE(dup2(ends[1], STDERR_FILENO) == STDERR_FILENO);
        close(ends[1]);
    }

    CapturedStderr(const CapturedStderr&) = delete;
    CapturedStderr& operator=(const CapturedStderr&) = delete;

    ~CapturedStderr() {
        dup2(saved_, STDERR_FILENO);
        close(saved_);
        close(reader_);
    }

    [[nodiscard]] std::string text() const {
        char text[4096];
        const ssize_t size = read(reader_, text, sizeof text);
        return size > 0 ? std::string{text, static_cast<std::size_t>(size)} : std::string{};
    }

private:
    int saved_;
    int reader_ = -1;
};

TEST_CASE("the journal gets message, priority, our id and our own fields", "[journal]") {
    const std::array fields{Field{"STAGE", "off"}, Field{"HELD_USEC", "3004000"}};
    CHECK(journal_fields({Priority::notice, Message::decided, "held for 3.004 s", fields}) ==
          std::vector<std::string>{"MESSAGE=held for 3.004 s",
                                   "PRIORITY=5",
                                   "MESSAGE_ID=821da91e1e18483eb6f7624e0f374e22",
                                   "NIGHTLATCH_STAGE=off",
                                   "NIGHTLATCH_HELD_USEC=3004000"});
}

TEST_CASE("a plain message has no id", "[journal]") {
    CHECK(journal_fields({Priority::info, Message::plain, "text", {}}) ==
          std::vector<std::string>{"MESSAGE=text", "PRIORITY=6"});
}

TEST_CASE("a stderr that is not the journal gets one line with the program and the urgency",
          "[journal]") {
    std::string seen;
    {
        const CapturedStderr captured;
        Journal journal;
        CHECK_FALSE(journal.structured());
        journal.say(Priority::error, Message::bus_trouble, "no bus");
        journal.say(Priority::notice, Message::asked, "asked for power-off");
        journal.say(Priority::debug, Message::plain, "not wanted");
        seen = captured.text();
    }
    CHECK(seen == "nightlatchd: error: no bus\nnightlatchd: asked for power-off\n");
}

TEST_CASE("stderr is the journal only if the variable names this very stream", "[journal]") {
    CHECK(is_journal_stream("9:4711", 9, 4711));
    CHECK_FALSE(is_journal_stream("9:4711", 9, 4712));
    CHECK_FALSE(is_journal_stream("8:4711", 9, 4711));
    CHECK_FALSE(is_journal_stream("", 9, 4711));
    CHECK_FALSE(is_journal_stream("9:4711 ", 9, 4711));

    const std::string stream = test::stream_of(STDERR_FILENO);
    {
        const test::Environment named{"JOURNAL_STREAM", stream};
        CHECK(Journal{}.structured());
    }
    const test::Environment other{"JOURNAL_STREAM", stream + "0"};
    CHECK_FALSE(Journal{}.structured());
}

TEST_CASE("a line reaches the journal as one datagram of fields", "[journal]") {
    const test::TemporaryDirectory run;
    const test::Environment stream{"JOURNAL_STREAM", test::stream_of(STDERR_FILENO)};
    const test::JournalSocket journald(run.path() + "/socket");
    Journal journal(Priority::info, run.path() + "/socket");
    journal.say(Priority::warning, Message::stuck, "one\ntwo", std::array{Field{"LINE", "5"}});
    CHECK(journald.take() == "SYSLOG_IDENTIFIER=nightlatchd\nMESSAGE=one\\u000Atwo\nPRIORITY=4\n"
                             "MESSAGE_ID=b9dd35d7777f4d2d8c896f9ea0cfe5b1\nNIGHTLATCH_LINE=5\n");
}

TEST_CASE("a program says in its own name what it has to say", "[journal]") {
    const test::TemporaryDirectory run;
    {
        const test::Environment stream{"JOURNAL_STREAM", test::stream_of(STDERR_FILENO)};
        const test::JournalSocket journald(run.path() + "/socket");
        Journal journal(Priority::info, run.path() + "/socket", "nightlatch");
        journal.say(Priority::notice, Message::run_ended, "run 15 ends");
        CHECK(journald.take().value_or("").starts_with("SYSLOG_IDENTIFIER=nightlatch\n"));
    }
    std::string seen;
    {
        const CapturedStderr captured;
        Journal(Priority::info, run.path() + "/none", "nightlatch")
            .say(Priority::error, Message::logbook_failed, "no room");
        seen = captured.text();
    }
    CHECK(seen == "nightlatch: error: no room\n");
}

TEST_CASE("a journal that does not read is not waited for, and later told how much it missed",
          "[journal]") {
    const test::TemporaryDirectory run;
    const test::Environment stream{"JOURNAL_STREAM", test::stream_of(STDERR_FILENO)};
    test::JournalSocket journald(run.path() + "/socket");
    journald.fill();
    Journal journal(Priority::info, run.path() + "/socket");
    for (int line = 0; line < 3; ++line) {
        journal.say(Priority::notice, Message::plain, "nobody takes it");
    }
    while (journald.take()) {
    }
    journal.say(Priority::notice, Message::plain, "taken");
    CHECK(journald.take() == "SYSLOG_IDENTIFIER=nightlatchd\nMESSAGE=3 lines are missing before "
                             "this one: the journal did not take them\nPRIORITY=4\n");
    CHECK(journald.take() == "SYSLOG_IDENTIFIER=nightlatchd\nMESSAGE=taken\nPRIORITY=5\n");
    journal.say(Priority::notice, Message::plain, "the next");
    CHECK(journald.take() == "SYSLOG_IDENTIFIER=nightlatchd\nMESSAGE=the next\nPRIORITY=5\n");
}

TEST_CASE("a line that no datagram can hold is missing, too", "[journal]") {
    const test::TemporaryDirectory run;
    const test::Environment stream{"JOURNAL_STREAM", test::stream_of(STDERR_FILENO)};
    const test::JournalSocket journald(run.path() + "/socket");
    Journal journal(Priority::info, run.path() + "/socket");
    journal.say(Priority::notice, Message::plain, std::string(std::size_t{64} << 20, 'x'));
    CHECK_FALSE(journald.take());
    journal.say(Priority::notice, Message::plain, "short");
    CHECK(journald.take().value_or("").find("1 line is missing") != std::string::npos);
}

TEST_CASE("the catalog explains exactly the messages that have an id", "[journal]") {
    std::ifstream catalog{NIGHTLATCH_CATALOG};
    REQUIRE(catalog);
    std::multiset<std::string> explained;
    for (std::string line; std::getline(catalog, line);) {
        if (line.rfind("-- ", 0) == 0 && line.size() == 35) {
            explained.insert(line.substr(3));
        }
    }
    std::multiset<std::string> known;
    for (const MessageId& entry : message_ids) {
        known.emplace(entry.id);
    }
    CHECK(explained == known);
}

}  // namespace
}  // namespace nightlatch::sys
