// SPDX-License-Identifier: MIT
#include "config/diagnostic.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
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
