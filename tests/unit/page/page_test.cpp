// SPDX-License-Identifier: MIT
#include "page/page.hpp"
#include "page/wrap.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch::page;

TEST_CASE("wrapping counts characters and keeps long words whole", "[page]") {
    CHECK(wrapped("a bb ccc", 4, 2, 0) == "a bb\n  ccc");
    CHECK(wrapped("\u00e9\u00e9 \u00e9\u00e9", 5, 0, 0) == "\u00e9\u00e9 \u00e9\u00e9");
    CHECK(wrapped("longer-than-a-line x", 6, 1, 0) == "longer-than-a-line\n x");
    CHECK(wrapped("", 10, 2, 0).empty());
}

TEST_CASE("text is padded to columns of characters, and never cut", "[page]") {
    CHECK(left("\u00b5s", 4) == "\u00b5s  ");
    CHECK(right("\u00b5s", 4) == "  \u00b5s");
    CHECK(left("long", 2) == "long");
    CHECK(right("long", 2) == "long");
}

TEST_CASE("a table's columns are as wide as their widest cell in characters", "[page]") {
    const std::vector<Row> rows{{"line", "name", "now"}, {"7", "Gr\u00fcn", ""}, {"12", "B", "in"}};
    CHECK(table(rows, {}) == "line  name  now\n"
                             "7     Gr\u00fcn\n"
                             "12    B     in\n");
    CHECK(table(rows, {.indent = 2, .sides = "rl"}) == "  line  name  now\n"
                                                       "     7  Gr\u00fcn\n"
                                                       "    12  B     in\n");
    CHECK(table({{"", "mean"}, {"pressing", "90 \u00b5s"}, {"going", "1 ms"}}, {.sides = "lr"}) ==
          "           mean\n"
          "pressing  90 \u00b5s\n"
          "going      1 ms\n");
}

TEST_CASE("a last cell of words is wrapped in its own column", "[page]") {
    CHECK(table({{"while on", "a b c d"}, {"off", "e"}}, {.indent = 2, .wrapped_at = 15}) ==
          "  while on  a b\n"
          "            c d\n"
          "  off       e\n");
}

TEST_CASE("words, cells and blocks cannot steer the terminal", "[page]") {
    CHECK(table({{"a\nb", "\x1b[2J"}, {"c", "d"}}, {}) == "a\\u000Ab  \\u001B[2J\nc         d\n");
    Page page({.columns = 80, .colour = true});
    page.paragraph("he\x07", "w\u202eords\n", 2);
    page.block("\tkeep\x1b\nnext\u2028", 4);
    CHECK(page.str() == "he\\u0007w\\u202Eords\\u000A\n    \tkeep\\u001B\n    next\\u2028\n");
    CHECK(page.painted("\x1b", Paint::bad) == "\x1b[1;31m\\u001B\x1b[0m");
}

TEST_CASE("colour comes only where the style has it", "[page]") {
    CHECK(painted({}, "fine", Paint::good) == "fine");
    CHECK(painted({.columns = 80, .colour = true}, "fine", Paint::good) == "\x1b[1;32mfine\x1b[0m");
}

TEST_CASE(
    "a verdict's words are painted wherever the line is broken, and what is next stands apart",
    "[page]") {
    const auto verdict = [](Style style) {
        Page page(style);
        page.verdict("a\x07 bb is too short. Next: go on", "is too short", Paint::bad);
        return page.str();
    };
    CHECK(verdict({.columns = 14}) == "a\\u0007 bb is\ntoo short.\nNext: go on\n");
    CHECK(verdict({.columns = 14, .colour = true}) ==
          "a\\u0007 bb \x1b[1;31mis\ntoo short\x1b[0m.\nNext: go on\n");
    Page other({.columns = 80, .colour = true});
    other.verdict("nothing of it", "too short", Paint::bad);
    CHECK(other.str() == "nothing of it\n");
}
