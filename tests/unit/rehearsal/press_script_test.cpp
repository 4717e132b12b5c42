// SPDX-License-Identifier: MIT
// What is wrong with a press script is tested file by file in tests/golden/press.
#include "rehearsal/press_script.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::config;
using namespace nightlatch::rehearsal;
using namespace std::chrono_literals;

namespace {

using Events = std::vector<ScriptEvent>;

const ScriptStep down = ButtonMoves{Level::active};
const ScriptStep up = ButtonMoves{Level::inactive};

PressScript loaded(std::string_view text) {
    LoadedScript result = load_press_script(text);
    for (const Diagnostic& one : result.diagnostics) {
        UNSCOPED_INFO(to_text(one, "script"));
    }
    REQUIRE(result.script);
    CHECK(result.diagnostics.empty());
    return *result.script;
}

}  // namespace

TEST_CASE("an empty script is a button that nobody touches", "[script]") {
    const PressScript script = loaded("");
    CHECK(script.level_at_start == Level::inactive);
    CHECK(script.events.empty());
    CHECK(script.end == 5s);
}

TEST_CASE("a press is two edges and a remark before them", "[script]") {
    const PressScript script =
        loaded("[[press]]\nnote = \"a short hold\"\nat = \"1 s\"\nfor = \"3.2 s\"\n");
    CHECK(script.events == Events{{1s, Remark{"a short hold"}}, {1s, down}, {4200ms, up}});
    CHECK(script.end == 9200ms);
}

TEST_CASE("a press without an end is held to the end", "[script]") {
    const PressScript script = loaded("end = \"10 s\"\n[[press]]\nat = \"1 s\"\n");
    CHECK(script.events == Events{{1s, down}});
    CHECK(script.end == 10s);
}

TEST_CASE("a bounce is expanded: contact, drop-out, and the level it was for", "[script]") {
    const PressScript script =
        loaded("[[press]]\nat = \"1 s\"\nfor = \"1 s\"\n"
               "bounce = { press = [\"2 ms\", \"1 ms\"], release = \"2 x 1 ms\" }\n");
    CHECK(script.events == Events{{1s, down},
                                  {1002ms, up},
                                  {1003ms, down},
                                  {2s, up},
                                  {2001ms, down},
                                  {2002ms, up},
                                  {2003ms, down},
                                  {2004ms, up}});
}

TEST_CASE("a button pressed at the start is let go when the script says so, or never", "[script]") {
    const PressScript held = loaded("level_at_start = \"pressed\"\n");
    CHECK(held.level_at_start == Level::active);
    CHECK(held.events.empty());
    const PressScript released = loaded("level_at_start = \"pressed\"\nreleased_at = \"4 s\"\n"
                                        "[[press]]\nat = \"5 s\"\nfor = \"1 s\"\n");
    CHECK(released.events == Events{{4s, up}, {5s, down}, {6s, up}});
}

TEST_CASE("a glitch is the other level, inside a press and outside", "[script]") {
    const PressScript script = loaded("[[press]]\nat = \"1 s\"\nfor = \"3 s\"\n"
                                      "[[glitch]]\nat = \"2 s\"\nfor = \"2 ms\"\n"
                                      "[[glitch]]\nat = \"6 s\"\nfor = \"3 ms\"\n");
    CHECK(script.events ==
          Events{{1s, down}, {2s, up}, {2002ms, down}, {4s, up}, {6s, down}, {6003ms, up}});
}

TEST_CASE("a glitch of a button pressed from the start is a drop-out", "[script]") {
    const PressScript script =
        loaded("level_at_start = \"pressed\"\n[[glitch]]\nat = \"0 s\"\nfor = \"2 ms\"\n");
    CHECK(script.events == Events{{0s, up}, {2ms, down}});
}

TEST_CASE("faults stand in order of time, wherever they are written", "[script]") {
    const PressScript script =
        loaded("[[fault]]\nat = \"9 s\"\nkind = \"return\"\n"
               "[[fault]]\nnote = \"the cable\"\nat = \"2 s\"\nkind = \"vanish\"\n"
               "[[fault]]\nat = \"3 s\"\nkind = \"drop 3 events\"\n");
    CHECK(script.events == Events{{2s, Remark{"the cable"}},
                                  {2s, ChipFault::vanish},
                                  {3s, DropEvents{3}},
                                  {9s, ChipFault::comes_back}});
}

TEST_CASE("a script of very many events is refused before it fills the memory", "[script]") {
    std::string text;
    for (int i = 0; i < 12; ++i) {
        text += "[[press]]\nat = \"" + std::to_string(i * 100) + " s\"\nfor = \"60 s\"\n" +
                "bounce = { press = \"20000 x 1 us\" }\n";
    }
    const LoadedScript result = load_press_script(text);
    CHECK_FALSE(result.script);
    REQUIRE_FALSE(result.diagnostics.empty());
    CHECK(result.diagnostics.front().text == "more than 200,000 events in all");
}
