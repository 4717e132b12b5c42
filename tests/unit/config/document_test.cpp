// SPDX-License-Identifier: MIT
#include "config/document.hpp"
#include "config/screen.hpp"

#include <array>
#include <string>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::config;

namespace {

std::string refusal(std::string_view text) {
    const auto document = parse_document(text);
    return document ? "taken" : to_text(document.error(), "f");
}

Place place_of_refusal(std::string_view text) {
    const auto document = parse_document(text);
    return document ? Place{0, 0} : document.error().place;
}

}  // namespace

TEST_CASE("keys and values know their places, the column in characters", "[document]") {
    const auto document = parse_document("# ö\n[button]\nchip = \"é€\" # x\n  line = 4\n");
    REQUIRE(document);
    const Entry* button = find(document->root, "button");
    REQUIRE(button != nullptr);
    CHECK(button->value.place == Place{2, 1});
    const auto* table = std::get_if<Table>(&button->value.data);
    REQUIRE(table != nullptr);
    CHECK(find(*table, "chip")->place == Place{3, 1});
    CHECK(find(*table, "chip")->value.place == Place{3, 8});
    CHECK(find(*table, "line")->place == Place{4, 3});
    CHECK(find(*table, "nothing") == nullptr);
}

TEST_CASE("entries come in the order of the text", "[document]") {
    const auto document = parse_document("z = 1\na = 2\nm = 3\n");
    REQUIRE(document);
    REQUIRE(document->root.size() == 3);
    CHECK(document->root[0].key == "z");
    CHECK(document->root[1].key == "a");
    CHECK(document->root[2].key == "m");
}

TEST_CASE("each kind of value has a word for it", "[document]") {
    const auto document =
        parse_document("a = \"x\"\nb = 1\nc = 1.5\nd = true\ne = 1979-05-27\n"
                       "f = 07:32:00\ng = 1979-05-27T07:32:00Z\nh = []\ni = {}\n");
    REQUIRE(document);
    constexpr std::array<std::string_view, 9> kinds{"a text",
                                                    "a number",
                                                    "a number with a point",
                                                    "true or false",
                                                    "a date or time",
                                                    "a date or time",
                                                    "a date or time",
                                                    "a list",
                                                    "a table"};
    REQUIRE(document->root.size() == kinds.size());
    for (std::size_t i = 0; i < kinds.size(); ++i) {
        CHECK(kind_of(document->root[i].value) == kinds[i]);
    }
}

// What is TOML and what is not: https://toml.io/en/v1.0.0, the section named beside each.
TEST_CASE("what TOML 1.0.0 allows is taken", "[document]") {
    CHECK(parse_document(""));
    CHECK(parse_document("# only a comment"));                         // #comment
    CHECK(parse_document("a = 1\r\nb = 2\r\n"));                       // #spec: LF or CRLF
    CHECK_FALSE(parse_document("\"quoted key\" = 1\n'it''s' = 2\n"));  // #keys: no '' inside ''
    CHECK(parse_document("\"quoted key\" = 1\n'literal' = 2\n1234 = 3\n"));  // #keys
    CHECK(parse_document("a.b = 1\na.c = 2\n"));                             // #keys, dotted
    CHECK(parse_document("a = \"\"\"\nx\"\"\"\"\"\n"));     // #string: up to five quotes
    CHECK(parse_document("a = '''x'''''\n"));               // #string
    CHECK(parse_document("a = [\n  1, # one\n  2,\n]\n"));  // #array
    CHECK(parse_document("\xEF\xBB\xBF"
                         "a = 1\n"));  // a byte order mark
}

TEST_CASE("what TOML 1.0.0 forbids is refused at its place", "[document]") {
    CHECK(place_of_refusal("a = 1\na = 2\n").line == 2);  // #keys: defined twice
    CHECK(place_of_refusal("[a]\n[a]\n").line == 2);      // #table: defined twice
    CHECK(place_of_refusal("a = \n").line == 1);          // #key-value-pair: a value
    CHECK(place_of_refusal("a = 1 b = 2\n").line == 1);   // #key-value-pair: a newline
    CHECK(place_of_refusal("x = 1\n\n= 1\n").line == 3);  // #keys: not empty
    CHECK(place_of_refusal("a = \"x\ny\"\n").line == 1);  // #string: one line
    CHECK(place_of_refusal("a = \"\\q\"\n").line == 1);   // #string: reserved escape
    CHECK(place_of_refusal(std::string_view("a = \"\0\"", 7)).line == 1);  // #string: control
    CHECK(place_of_refusal("a = {b = 1,}\n").line == 1);                   // #inline-table
    CHECK(place_of_refusal("a = 1\nb = 01\n").line == 2);                  // #integer: leading zero
    CHECK(place_of_refusal("a = \"\xFF\"\n").line == 1);                   // #spec: UTF-8
}

TEST_CASE("a bare duration or word gets the hint that texts go in quotes", "[document]") {
    CHECK(refusal("[stage]\nhold = 3 s\n")
              .ends_with("texts and durations go in double quotes: \"3 s\""));
    CHECK(refusal("pressed = low\n").ends_with("texts and durations go in double quotes: \"3 s\""));
    CHECK_FALSE(refusal("a = \"3 s\n").ends_with("\"3 s\""));
    CHECK_FALSE(refusal("a = [1, 2\n").ends_with("\"3 s\""));
}

TEST_CASE("a character beyond ASCII outside quotes is refused before the parser sees it",
          "[document][screen]") {
    // TOML: bare keys and values are ASCII [https://toml.io/en/v1.0.0#keys].
    CHECK(place_of_refusal("größe = 1\n") == Place{1, 3});
    CHECK(place_of_refusal("a = 1\nb\xC2\xA0= 2\n") == Place{2, 2});
    CHECK(place_of_refusal("a = \xE2\x80\x9Cx\xE2\x80\x9D\n") == Place{1, 5});
    CHECK(place_of_refusal("[é]\n") == Place{1, 2});
    CHECK(parse_document("a = \"größe\" # größe\n'größe' = 'größe'\n\"größe 2\" = 1\n"));
}

TEST_CASE("a text over several lines is plain ASCII", "[document][screen]") {
    CHECK(place_of_refusal("a = \"\"\"\nx\\\n  é\"\"\"\n") == Place{3, 3});
    CHECK(place_of_refusal("a = \"\"\"\\é\"\"\"\n") == Place{1, 9});
    CHECK(place_of_refusal("a = '''é'''\n") == Place{1, 8});
    CHECK(parse_document("a = \"\"\"\nx\\\n  y\"\"\" # é\n"));
}

TEST_CASE("a quote that a number runs into is refused, in a key or a text it is not",
          "[document][screen]") {
    CHECK(place_of_refusal("a = 1979-05-27:T\"é\"\n") == Place{1, 5});
    CHECK(place_of_refusal("a = -'é'\n") == Place{1, 5});
    CHECK(place_of_refusal("a = [1, 2=[\"é\"]\n") == Place{1, 9});
    CHECK(place_of_refusal("a = 1979-05-27 0\"é\"\n") == Place{1, 16});
    CHECK(parse_document("a1=\"é\"\nb-1.'é' = 1\n\"1\" = '2'\nc = [1,\"é\"] # 1\"é\"\n"));
}

TEST_CASE("a list that is open where the refused line begins is not an error of its own",
          "[document][screen]") {
    CHECK(place_of_refusal("a = [\n1,\né\n]\n") == Place{3, 1});
}

TEST_CASE("an earlier syntax error comes first", "[document][screen]") {
    CHECK(place_of_refusal("a = 1\nb\nc = é\n").line == 2);
    CHECK(place_of_refusal("a = [\n1,\n2]\nb = é\n") == Place{4, 5});
}

TEST_CASE("what the parser takes for granted and is not so is an error, not an end", "[document]") {
    for (const char* text : {"[&",
                             "[[&",
                             "[}[a]]",
                             "[\n",
                             "[[[a]]]",
                             "[.a]",
                             "[",
                             "[[",
                             "[]",
                             "[a",
                             "a = [1, }",
                             "a = [}",
                             "a = }",
                             "a = ,",
                             "a = {b = ]}",
                             "a = {b = ,}",
                             "a = _1",
                             "a = \x01"}) {
        INFO(text);
        CHECK(place_of_refusal(text).line >= 1);
    }
    CHECK(parse_document("[ a ]\n[ \"b\" ]\n['c']\n[[d]]\n\t[e]\n[0]\n[-]\n"));
}

TEST_CASE("a key of very many parts cannot end the stack", "[document][screen]") {
    std::string key = "a";
    for (int i = 0; i < 100'000; ++i) {
        key += ".a";
    }
    CHECK(refusal(key + " = 1\n").find("more than 8 points") != std::string::npos);
    CHECK(refusal("[" + key + "]\n").find("more than 8 points") != std::string::npos);
    CHECK(refusal("a = \"\"\"x\"\"\"\"\"\n" + key + " = 1").find("more than 8") !=
          std::string::npos);
    CHECK(refusal("a = {b = \"\"\"x\"\"\"\"," + key + " = 1}").find("more than 8") !=
          std::string::npos);
    CHECK(parse_document("# " + key + "\n'" + key + "' = \"" + key + "\"\n"));
}

TEST_CASE("the deepest nesting that is let through does not end the stack", "[document][screen]") {
    const std::string key = "a.a.a.a.a.a.a.a.a";
    std::string text = "[" + key + "]\n" + key + " = ";
    std::string end;
    for (int i = 0; i < 126; ++i) {
        text += "[\n{" + key + " = ";
        end += "}\n]";
    }
    CHECK(parse_document(text + "1" + end + "\n"));
    CHECK_FALSE(parse_document("a = " + std::string(100'000, '[')));
}
