// SPDX-License-Identifier: MIT
#include "bootfiles/text.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch::bootfiles;
using Views = std::vector<std::string_view>;

TEST_CASE("what is shown of a text cannot steer a terminal", "[bootfiles]") {
    CHECK(shown("plain ~") == "plain ~");
    CHECK(shown(std::string_view("\0\t\n\x1b\x7f\x80\xff", 7)) ==
          "\\x00\\x09\\x0a\\x1b\\x7f\\x80\\xff");
    CHECK(shown("abcdef", 3) == "abc...");
    CHECK(shown("abc", 3) == "abc");
    CHECK(in_quotes("a\x1b") == "\"a\\x1b\"");
}

TEST_CASE("a text comes apart at separators and at blanks", "[bootfiles]") {
    CHECK(split("a,,b", ',') == Views{"a", "", "b"});
    CHECK(split("", ',') == Views{""});
    CHECK(words("  a \t b") == Views{"a", "b"});
    CHECK(words(" \t").empty());
    CHECK(trimmed(" \ta b \t") == "a b");
    CHECK(trimmed("  ").empty());
    CHECK(without_leading_blanks("  a ") == "a ");
}

TEST_CASE("a number is digits alone and fits", "[bootfiles]") {
    CHECK(number("0") == 0U);
    CHECK(number("4294967295") == 4'294'967'295U);
    for (const char* const none : {"", "-1", "+1", " 1", "1 ", "0x1", "4294967296"}) {
        CHECK_FALSE(number(none));
    }
}

TEST_CASE("an overlay is called like its file, without folder and ending", "[bootfiles]") {
    CHECK(overlay_name("gpio-fan") == "gpio-fan");
    CHECK(overlay_name("/boot/dtbo/gpio-fan.dtbo") == "gpio-fan");
    CHECK(overlay_name("a/b.dtb") == "b");
    CHECK(overlay_name("a.dtbo/") == "a.dtbo/");
    CHECK(overlay_name(".dtbo") == ".dtbo");
}

TEST_CASE("lines are numbered from one, with and without an end", "[bootfiles]") {
    std::size_t at = 0;
    unsigned number = 0;
    const std::string_view text = "a\r\n\nb";
    auto line = next_line(text, at, number);
    REQUIRE(line);
    CHECK((line->number == 1 && line->text == "a" && line->carriage_return));
    line = next_line(text, at, number);
    REQUIRE(line);
    CHECK((line->number == 2 && line->text.empty() && !line->carriage_return));
    line = next_line(text, at, number);
    REQUIRE(line);
    CHECK((line->number == 3 && line->text == "b" && !line->carriage_return));
    CHECK_FALSE(next_line(text, at, number));
}
