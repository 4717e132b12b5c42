// SPDX-License-Identifier: MIT
#include "daemon/login/locks.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch::login;

TEST_CASE("only a blocking lock on shutdown keeps others from shutting down") {
    const auto blocks = [](const char* what, const char* mode) {
        return blocks_shutdown({what, "who", "why", mode, 0, 0});
    };
    CHECK(blocks("shutdown", "block"));
    CHECK(blocks("idle:shutdown:sleep", "block"));
    CHECK(blocks("sleep:shutdown", "block-weak"));
    CHECK_FALSE(blocks("shutdown", "delay"));
    CHECK_FALSE(blocks("sleep", "block"));
    CHECK_FALSE(blocks("shutdown-not", "block"));
    CHECK_FALSE(blocks("", "block"));
}

TEST_CASE("a lock is shown with its holder, account, process and reason") {
    const Lock lock{"shutdown", "tide recorder", "closing the day's file", "block", 1000, 4242};
    CHECK(text_of({lock}) == "\"tide recorder\" (uid 1000, pid 4242): \"closing the day's file\"");
    CHECK(text_of({lock, lock}).find("file\", \"tide") != std::string::npos);
    CHECK(text_of({lock, lock, lock, lock, lock}).ends_with(", and 2 more"));
}

TEST_CASE("another program's text cannot break a line, drive a terminal or grow without end") {
    const Lock hostile{
        "shutdown", "tide\n\x1b[31m\x9b", std::string(161, 'x'), "block", 1000, 4242};
    CHECK(text_of({hostile}) == R"("tide\u000A\u001B[31m\x9B" (uid 1000, pid 4242): ")" +
                                    std::string(160, 'x') + "\u2026\"");
}

TEST_CASE("the lock in the way is given as its holder's words, made safe and cut") {
    const Lock lock{"shutdown", "tide\nrecorder", std::string(161, 'x'), "block", 1000, 4242};
    const Lock other{"shutdown", "pump", "pumping", "block", 1000, 4243};
    const auto blocker = blocker_of(std::vector{lock, other});
    REQUIRE(blocker);
    CHECK(blocker->who == R"(tide\u000Arecorder)");
    CHECK(blocker->why == std::string(160, 'x') + "\u2026");
    CHECK_FALSE(blocker_of(std::vector<Lock>{}));
    CHECK_FALSE(blocker_of(std::nullopt));
}
