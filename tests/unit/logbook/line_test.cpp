// SPDX-License-Identifier: MIT
#include "logbook/line.hpp"
#include "logbook/members.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch::logbook;

TEST_CASE("a line says how long it is and what its sum is", "[logbook]") {
    const std::string line = line_around("\"tide\":1");
    CHECK(line.starts_with("{\"length\":9,\"crc32c\":\""));
    CHECK(line.ends_with("\",\"tide\":1}\n"));
    const std::string_view whole = std::string_view(line).substr(0, line.size() - 1);
    CHECK(members_of_line(whole) == "\"tide\":1");
}

TEST_CASE("a line that lacks, adds or changes one byte is not a line", "[logbook]") {
    const std::string line = line_around("\"tide\":1,\"level\":\"2.41 m\"");
    const std::string whole = line.substr(0, line.size() - 1);
    REQUIRE(members_of_line(whole));
    for (std::size_t at = 0; at < whole.size(); ++at) {
        INFO(at);
        CHECK_FALSE(members_of_line(whole.substr(0, at)));
        CHECK_FALSE(members_of_line(std::string(whole).erase(at, 1)));
        CHECK_FALSE(members_of_line(std::string(whole).insert(at, 1, '~')));
        for (int bit = 0; bit < 8; ++bit) {
            std::string changed = whole;
            changed[at] = static_cast<char>(changed[at] ^ (1 << bit));
            CHECK_FALSE(members_of_line(changed));
        }
    }
    CHECK_FALSE(members_of_line(whole + "}"));
    CHECK_FALSE(members_of_line(whole + whole));
}

TEST_CASE("members are read as they were written", "[logbook]") {
    Object object;
    object.members = {{"text", "a \"b\" \\ \x01\t\n/ \u00e9 \u2026"},
                      {"number", std::int64_t{-42}},
                      {"least", INT64_MIN},
                      {"yes", true},
                      {"no", false},
                      {"empty", ""}};
    object.lists = {{"none", {}},
                    {"two", {{{"a", std::int64_t{1}}}, {{"b", "{}[]"}, {"c", true}}}}};
    const auto read = read_members(to_text(object));
    REQUIRE(read);
    CHECK(read->members == object.members);
    CHECK(read->lists == object.lists);
    CHECK(text_in(read->members, "text") == "a \"b\" \\ \x01\t\n/ \u00e9 \u2026");
    CHECK(integer_in(read->members, "yes") == std::nullopt);
    CHECK(list_in(*read, "two").size() == 2);
}

TEST_CASE("a byte that is no part of a character becomes the one for it", "[logbook]") {
    Object object;
    object.members = {{"t", "a\xFFz"}};
    CHECK(to_text(object) == "\"t\":\"a\xEF\xBF\xBDz\"");
}

TEST_CASE("what is not a list of members is not guessed at", "[logbook]") {
    for (const char* const text : {"\"a\"",
                                   "\"a\":",
                                   "\"a\":1,",
                                   ",\"a\":1",
                                   "\"a\":1 \"b\":2",
                                   "\"a\":[1]",
                                   "\"a\":[{}]",
                                   "\"a\":[{\"b\":[]}]",
                                   "\"a\":{\"b\":1}",
                                   "\"a\":null",
                                   "\"a\":1.5",
                                   "\"a\":1e3",
                                   "\"a\":99999999999999999999",
                                   "\"a\":tru",
                                   "\"a\":\"\\x\"",
                                   "\"a\":\"\\u12\"",
                                   "\"a\":\"\\ud800\"",
                                   "\"a\":\"\n\"",
                                   "\"a\":\"tide\xFF\"",  // RFC 8259, 8.1
                                   "\"a\":\"b",
                                   "a:1",
                                   "\"a\":1}",
                                   "\"a\":[",
                                   "\"a\":[{\"b\":1}"}) {
        INFO(text);
        CHECK_FALSE(read_members(text));
    }
    CHECK(read_members(" \"a\" : 1 , \"b\":[ ] "));
    CHECK(read_members(""));
    CHECK(text_in(read_members("\"a\":\"\\u00e9\\u2026\\/\"")->members, "a") == "\u00e9\u2026/");
}
