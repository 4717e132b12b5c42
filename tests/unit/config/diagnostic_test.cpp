// SPDX-License-Identifier: MIT
#include "config/diagnostic.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch::config;

TEST_CASE("a diagnostic says file, line, column, severity, key and sentence", "[diagnostic]") {
    const Diagnostic one{Severity::warning, {3, 14}, "button.bias", "pulls the wrong way"};
    CHECK(to_text(one, "a.toml") == "a.toml:3:14: warning: button.bias: pulls the wrong way");
}

TEST_CASE("only an error keeps a text from being used", "[diagnostic]") {
    CHECK_FALSE(has_errors({}));
    CHECK_FALSE(has_errors({{Severity::warning, {}, "", ""}, {Severity::note, {}, "", ""}}));
    CHECK(has_errors({{Severity::note, {}, "", ""}, {Severity::error, {}, "", ""}}));
}

TEST_CASE("places are ordered by line, then by column", "[diagnostic]") {
    CHECK(Place{1, 9} < Place{2, 1});
    CHECK(Place{2, 1} < Place{2, 2});
    CHECK_FALSE(Place{2, 2} < Place{2, 2});
    CHECK_FALSE(Place{2, 1} < Place{1, 9});
}

TEST_CASE("what a hostile text says cannot steer a terminal", "[diagnostic]") {
    CHECK(printable("a\x1B[2J\n\t\x7F") == "a\\u001B[2J\\u000A\\u0009\\u007F");
    CHECK(printable("\xC2\x9B"
                    "2J") == "\\u009B2J");  // U+009B begins a sequence, too
    CHECK(printable("Grün \xC2\xA0 €") == "Grün \xC2\xA0 €");
    CHECK(printable(std::string_view("\0x", 2)) == "\\u0000x");
}

TEST_CASE("long text is cut between characters", "[diagnostic]") {
    CHECK(in_quotes("short") == "\"short\"");
    CHECK(in_quotes(std::string(60, 'a')) == "\"" + std::string(60, 'a') + "\"");
    CHECK(in_quotes(std::string(61, 'a')) == "\"" + std::string(60, 'a') + "…\"");
    CHECK(in_quotes(std::string(59, 'a') + "€uro") == "\"" + std::string(59, 'a') + "…\"");
}
