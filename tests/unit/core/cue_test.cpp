// SPDX-License-Identifier: MIT
#include "core/cue.hpp"
#include "core/trace.hpp"

#include <set>
#include <string>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch::core;

TEST_CASE("every cue has a name of its own") {
    std::set<std::string_view> names;
    for (const CueName cue : all_cues) {
        names.insert(text_of(cue));
    }
    CHECK(names.size() == cue_count);
}

TEST_CASE("asked and unanswered show leaving, and keep names of their own") {
    CHECK(cue_of(State::asked) == CueName::leaving);
    CHECK(cue_of(State::unanswered) == CueName::leaving);
    CHECK(text_of(State::asked) == "asked");
    CHECK(text_of(State::unanswered) == "unanswered");
}

TEST_CASE("every reason has a sentence of its own") {
    std::set<std::string> sentences;
    const int reasons = static_cast<int>(Why::ignored) + 1;
    for (int why = 0; why < reasons; ++why) {
        sentences.insert(text_of(static_cast<Why>(why)));
    }
    CHECK(sentences.size() == static_cast<std::size_t>(reasons));
}
