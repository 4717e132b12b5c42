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
    CHECK(one_line("a\nb\x1b[31mc\x7f\td") == "a?b?[31mc??d");
    CHECK(one_line("Gezeiten \xC3\xBC"
                   "ber") == "Gezeiten \xC3\xBC"
                             "ber");
    CHECK(one_line("\xC2\x9B"
                   "31m") == "?31m");  // U+009B, the one-character form of ESC [
    CHECK(one_line("\xC2\xB5m") == "\xC2\xB5m");
    CHECK(one_line(std::string(160, 'x')) == std::string(160, 'x'));
    CHECK(one_line(std::string(161, 'x')) == std::string(160, 'x') + "...");
    // Cut between characters: 159 bytes, then one of two bytes, then more.
    const std::string cut = one_line(std::string(159, 'x') + "\xC3\xBC\xC3\xBC");
    CHECK(cut == std::string(159, 'x') + "\xC3\xBC...");
}
