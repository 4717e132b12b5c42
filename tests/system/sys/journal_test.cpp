// SPDX-License-Identifier: MIT
#include "daemon/sys/journal.hpp"
#include "daemon/sys/message_ids.hpp"
#include "notify_socket.hpp"

#include <array>
#include <fstream>
#include <set>
#include <sstream>

#include <catch2/catch_test_macros.hpp>
#include <fcntl.h>
#include <sys/stat.h>

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

    struct stat status {};

    REQUIRE(fstat(STDERR_FILENO, &status) == 0);
    const std::string device = std::to_string(status.st_dev);
    {
        const test::Environment named{"JOURNAL_STREAM",
                                      device + ":" + std::to_string(status.st_ino)};
        CHECK(Journal{}.structured());
    }
    const test::Environment other{"JOURNAL_STREAM",
                                  device + ":" + std::to_string(status.st_ino + 1)};
    CHECK_FALSE(Journal{}.structured());
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
