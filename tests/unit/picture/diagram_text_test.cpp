// SPDX-License-Identifier: MIT
#include "base/text.hpp"
#include "picture/diagram_text.hpp"

#include <limits>
#include <locale>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::picture::svg;
using namespace std::chrono_literals;

TEST_CASE("a text cannot end its element or its attribute", "[diagram]") {
    CHECK(escaped(R"(</text><script a="b">&amp;)") ==
          "&lt;/text&gt;&lt;script a=&quot;b&quot;&gt;&amp;amp;");
}

// XML 1.0 (fifth edition), section 2.2: the characters that a document may have.
TEST_CASE("what XML forbids is shown, and nothing turns or ends a line", "[diagram]") {
    CHECK(escaped(std::string("a\0b\x1b", 4)) == R"(a\u0000b\u001B)");
    CHECK(escaped("\xEF\xBF\xBF\xED\xA0\x80") == R"(\uFFFF\xED\xA0\x80)");
    CHECK(escaped("<\u202Ea\n") == R"(&lt;\u202Ea\u000A)");
    CHECK(escaped("B\u00F6je 7 \u2265 \U0001F30A") == "B\u00F6je 7 \u2265 \U0001F30A");
}

TEST_CASE("numbers have a point and at most two decimals", "[diagram]") {
    CHECK(number(0) == "0");
    CHECK(number(12) == "12");
    CHECK(number(0.5) == "0.5");
    CHECK(number(-3.254) == "-3.25");
    CHECK(number(-0.001) == "0");
    CHECK(number(1234567.891) == "1234567.89");
    CHECK(number(std::numeric_limits<double>::quiet_NaN()) == "0");
    CHECK(number(std::numeric_limits<double>::infinity()) == "0");
    CHECK(number(1e300) == "1000000000000");
}

TEST_CASE("the locale of the program changes no number", "[diagram]") {
    struct Comma : std::numpunct<char> {
        char do_decimal_point() const override { return ','; }

        std::string do_grouping() const override { return "\1"; }
    };

    const std::locale before = std::locale::global(std::locale(std::locale::classic(), new Comma));
    CHECK(number(1234.5) == "1234.5");
    CHECK(time_text(1234500us) == "1.23 s");
    std::locale::global(before);
}

TEST_CASE("a time has the unit that people would use, and never 60 s or 1000 ms", "[diagram]") {
    CHECK(time_text(0s) == "0 s");
    CHECK(time_text(1ns) == "1 ns");
    CHECK(time_text(12us) == "12 \xC2\xB5s");
    CHECK(time_text(350us) == "0.35 ms");
    CHECK(time_text(150ms) == "150 ms");
    CHECK(time_text(999'996us) == "1 s");
    CHECK(time_text(3400ms) == "3.4 s");
    CHECK(time_text(59'999ms) == "1 min");
    CHECK(time_text(2min + 5300ms) == "2 min 5.3 s");
    CHECK(time_text(5h + 4ms) == "5 h");
    CHECK(time_text(12 * 24h + 5h + 3min + 20400ms) == "12 d 5 h 3 min 20.4 s");
    CHECK(time_text(365 * 24h) == "365 d");
}

TEST_CASE("a limited text has no more bytes than it may, and cuts no character", "[diagram]") {
    CHECK(limited("b\xC3\xB6je", 5) == "b\xC3\xB6je");
    CHECK(limited("b\xC3\xB6je", 3) == "b\xC3\xB6\xE2\x80\xA6");
    CHECK(limited("b\xC3\xB6je", 2) == "b\xE2\x80\xA6");
    CHECK(limited("", 0).empty());
}

TEST_CASE("a shortened text fits, ends in an ellipsis and cuts no character", "[diagram]") {
    const std::string text = "refused: the b\xC3\xB6je logger writes the month's file";
    for (double room = 20; room < 300; room += 3) {
        const std::string part = shortened(text, Font::normal, room);
        CHECK(width_of(part, Font::normal) <= room);
        CHECK(is_safe(part));
        const bool whole = width_of(text, Font::normal) <= room;
        CHECK(part.ends_with("\xE2\x80\xA6") == !whole);
    }
}

TEST_CASE("a wrapped text loses nothing but spaces while there are lines for it", "[diagram]") {
    const std::string text = "near miss: let go after 0.8 s, write now is at 1 s";
    std::string together;
    for (const std::string& line : wrapped(text, Font::normal, 120, 9)) {
        CHECK(width_of(line, Font::normal) <= 120);
        together += (together.empty() ? "" : " ") + line;
    }
    CHECK(together == text);
    CHECK(wrapped(text, Font::normal, 120, 2).size() == 2);
    CHECK(wrapped(text, Font::normal, 120, 2).back().ends_with("\xE2\x80\xA6"));
    CHECK(wrapped("", Font::normal, 120, 2) == std::vector<std::string>{""});
}
