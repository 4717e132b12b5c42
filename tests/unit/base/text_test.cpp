// SPDX-License-Identifier: MIT
#include "base/text.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace std::string_literals;

TEST_CASE("a name stays as it is, in whatever script, and can be typed back", "[text]") {
    for (const std::string_view name : {"Taste-grün",
                                        "Pegel 7 ≥ 3 €",
                                        "Böje 🌊",
                                        "\xC2\xA0\xEF\xBF\xBD",
                                        R"(a "quoted\name" ~)",
                                        ""}) {
        CHECK(safe(name) == name);
        CHECK(is_safe(name));
    }
}

// C0 and C1: ECMA-48, sections 5.2 and 5.3. The sequences: the same, section 5.4.
TEST_CASE("controls are shown, in one byte or two", "[text]") {
    CHECK(safe("a\x1B[2J\n\t\r\x7F") == R"(a\u001B[2J\u000A\u0009\u000D\u007F)");
    CHECK(safe("\0x"s) == R"(\u0000x)");
    CHECK(safe("\xC2\x9B"
               "2J\xC2\x85") == R"(\u009B2J\u0085)");
}

// UAX #9, section 2, and PropList.txt (Bidi_Control): all twelve of them.
TEST_CASE("marks that turn the reading direction are shown", "[text]") {
    CHECK(safe("\u061C\u200E\u200F") == R"(\u061C\u200E\u200F)");
    CHECK(safe("\u202A\u202B\u202C\u202D\u202E") == R"(\u202A\u202B\u202C\u202D\u202E)");
    CHECK(safe("\u2066\u2067\u2068\u2069") == R"(\u2066\u2067\u2068\u2069)");
    CHECK(safe("off\u202Ewon etirw") == R"(off\u202Ewon etirw)");
    CHECK(safe("\u200D\u2027\u202F\u2065") == "\u200D\u2027\u202F\u2065");  // their neighbours
}

TEST_CASE("nothing but our own line ends ends a line", "[text]") {
    CHECK(safe("a\u2028b\u2029c\vd\f") == R"(a\u2028b\u2029c\u000Bd\u000C)");
    CHECK(safe_lines("a\nb\x1B\n\nc\r\n") == "a\nb\\u001B\n\nc\\u000D\n");
    CHECK(safe_lines("\t\ta\tb\n\t") == "\t\ta\\u0009b\n\t");
    CHECK(safe_lines("").empty());
}

// RFC 3629, sections 3 and 4.
TEST_CASE("bytes that are no part of a character are shown, each", "[text]") {
    CHECK(safe("\x9B"
               "2J\xFF") == R"(\x9B2J\xFF)");
    CHECK(safe("\xC0\xAF") == R"(\xC0\xAF)");                              // overlong
    CHECK(safe("\xE0\x80\xAF") == R"(\xE0\x80\xAF)");                      // overlong
    CHECK(safe("\xED\xA0\x80") == R"(\xED\xA0\x80)");                      // a surrogate
    CHECK(safe("\xE2\x82") == R"(\xE2\x82)");                              // cut short
    CHECK(safe("\xE2\x82z") == R"(\xE2\x82z)");                            // broken off
    CHECK(safe("\xF4\x90\x80\x80") == R"(\xF4\x90\x80\x80)");              // beyond U+10FFFF
    CHECK(safe("\xEF\xBF\xBF\xF0\x9F\xBF\xBE") == R"(\uFFFF\U0001FFFE)");  // noncharacters
}

TEST_CASE("what was made safe is safe", "[text]") {
    for (int first = 0; first < 256; ++first) {
        for (int second = 0; second < 256; ++second) {
            const std::string two{static_cast<char>(first), static_cast<char>(second)};
            const std::string made = safe(two);
            INFO("bytes " << first << " and " << second);
            REQUIRE(is_safe(made));
            REQUIRE(safe(made) == made);
            REQUIRE((made == two) == is_safe(two));
        }
    }
}

TEST_CASE("long text is cut between characters", "[text]") {
    CHECK(in_quotes("short") == "\"short\"");
    CHECK(in_quotes(std::string(60, 'a')) == "\"" + std::string(60, 'a') + "\"");
    CHECK(in_quotes(std::string(61, 'a')) == "\"" + std::string(60, 'a') + "…\"");
    CHECK(in_quotes(std::string(59, 'a') + "€uro") == "\"" + std::string(59, 'a') + "…\"");
    CHECK(in_quotes(std::string(61, 'a'), uncut) == "\"" + std::string(61, 'a') + "\"");
    CHECK(shortened("\x80\x80\x80\x80\x80", 4) == R"(\x80\x80\x80\x80…)");
    CHECK(shortened("ab", 0) == "…");
}

TEST_CASE("controls are told from what is merely not safe", "[text]") {
    CHECK(has_controls("a\x7F"));
    CHECK(has_controls("a\xC2\x80"));
    CHECK_FALSE(has_controls("a\u202E\x80 ü"));
}

TEST_CASE("white space is taken off both ends", "[text]") {
    CHECK(trimmed(" \ta b\r\n") == "a b");
    CHECK(trimmed(" \t").empty());
    CHECK(trimmed("").empty());
    CHECK(trimmed(" a\n", " ") == "a\n");
}

TEST_CASE("a number is digits alone and fits", "[text]") {
    CHECK(number_in("0") == 0U);
    CHECK(number_in("4294967295") == 4'294'967'295U);
    CHECK(number_in("63", 63) == 63U);
    CHECK_FALSE(number_in("64", 63));
    for (const char* const none : {"", "-1", "+1", " 1", "1 ", "0x1", "4294967296"}) {
        CHECK_FALSE(number_in(none));
    }
    CHECK(all_digits("007"));
    CHECK_FALSE(all_digits(""));
    CHECK_FALSE(all_digits("1a"));
}

TEST_CASE("counts have commas and the right noun", "[text]") {
    CHECK(counted(7) == "7");
    CHECK(counted(7260) == "7,260");
    CHECK(counted(1234567) == "1,234,567");
    CHECK(counted(1, "press", "presses") == "1 press");
    CHECK(counted(0, "press", "presses") == "0 presses");
    CHECK(counted(1, "line") == "1 line");
    CHECK(counted(1000, "line") == "1,000 lines");
}
