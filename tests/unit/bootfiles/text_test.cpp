// SPDX-License-Identifier: MIT
#include "bootfiles/text.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch::bootfiles;
using Views = std::vector<std::string_view>;

TEST_CASE("a text comes apart at separators and at blanks", "[bootfiles]") {
    CHECK(split("a,,b", ',') == Views{"a", "", "b"});
    CHECK(split("", ',') == Views{""});
    CHECK(words("  a \t b") == Views{"a", "b"});
    CHECK(words(" \t").empty());
    CHECK(without_leading_blanks("  a ") == "a ");
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
