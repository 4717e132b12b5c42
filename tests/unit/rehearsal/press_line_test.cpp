// SPDX-License-Identifier: MIT
#include "rehearsal/press_script.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::rehearsal;
using namespace std::chrono_literals;

namespace {

using Events = std::vector<ScriptEvent>;

const ScriptStep down = ButtonMoves{Level::active};
const ScriptStep up = ButtonMoves{Level::inactive};

Events typed(std::string_view line, Level now = Level::inactive) {
    INFO(line);
    const auto read = parse_press_line(line, now);
    REQUIRE(read);
    CHECK(read->kind == TypedLine::Kind::events);
    return read->events;
}

std::string refusal(std::string_view line, Level now = Level::inactive) {
    const auto read = parse_press_line(line, now);
    return read ? "taken" : read.error();
}

}  // namespace

TEST_CASE("a typed line moves the button", "[typed]") {
    CHECK(typed("press") == Events{{0s, down}});
    CHECK(typed("  press 3 s \r\n") == Events{{0s, down}, {3s, up}});
    CHECK(typed("release", Level::active) == Events{{0s, up}});
    CHECK(typed("glitch 2 ms") == Events{{0s, down}, {2ms, up}});
    CHECK(typed("glitch 2 ms", Level::active) == Events{{0s, up}, {2ms, down}});
}

TEST_CASE("a typed bounce drops out so many times and comes back", "[typed]") {
    CHECK(typed("bounce 2 x 1 ms", Level::active) ==
          Events{{0s, up}, {1ms, down}, {2ms, up}, {3ms, down}});
}

TEST_CASE("a typed line makes the chip's faults", "[typed]") {
    CHECK(typed("vanish") == Events{{0s, ChipFault::vanish}});
    CHECK(typed("return") == Events{{0s, ChipFault::comes_back}});
    CHECK(typed("drop 3") == Events{{0s, DropEvents{3}}});
    CHECK(typed("note the tide\x1B turns") == Events{{0s, Remark{"the tide\\u001B turns"}}});
}

TEST_CASE("help and quit are not events", "[typed]") {
    CHECK(parse_press_line("help", Level::inactive)->kind == TypedLine::Kind::help);
    CHECK(parse_press_line("quit", Level::active)->kind == TypedLine::Kind::quit);
}

TEST_CASE("the help names every line that is taken", "[typed]") {
    const std::string_view help = press_line_help();
    for (const char* word :
         {"press ", "release", "bounce", "glitch", "drop", "vanish", "return", "note", "quit"}) {
        CHECK(help.find(word) != std::string_view::npos);
    }
}

TEST_CASE("any other typed line gets one sentence of what is allowed", "[typed]") {
    CHECK(refusal("press", Level::active) == "the button is pressed already; release it first");
    CHECK(refusal("release") == "the button is released already; press it first");
    CHECK(refusal("pres") ==
          "\"pres\" is not a command (help lists them); did you mean \"press\"?");
    CHECK(refusal("") == "nothing typed; help lists the commands");
    CHECK(refusal("quit now") == "\"quit\" takes nothing after it");
    for (const char* line : {"press 3",
                             "press 0 s",
                             "press -1 s",
                             "bounce",
                             "bounce 5",
                             "bounce 5 x",
                             "bounce 0 x 1 ms",
                             "bounce 20001 x 1 ms",
                             "bounce 5 x 2 s",
                             "bounce -1 x 1 ms",
                             "glitch",
                             "glitch 2",
                             "drop",
                             "drop 0",
                             "drop many",
                             "drop 99999999999",
                             "note",
                             "fly"}) {
        INFO(line);
        CHECK(refusal(line) != "taken");
    }
    CHECK(refusal("release 3 s", Level::active) != "taken");
}
