// SPDX-License-Identifier: MIT
#include "picture/diagram_outputs.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::picture::svg;
using namespace nightlatch::wave;
using namespace std::chrono_literals;

namespace {

constexpr auto lit = Level::active;
constexpr auto dark = Level::inactive;
using Levels = std::vector<LevelChange>;

}  // namespace

TEST_CASE("a lamp is dark before its first look, and then what the look says", "[diagram]") {
    const Output lamp{"lid", "lamp", {{1s, "on", 100s}, {3s, "off"}}};
    CHECK(levels_in(lamp, {0s, 5s}, 1ms) == Levels{{0s, dark}, {1s, lit}, {3s, dark}});
    CHECK(levels_in(lamp, {2s, 5s}, 1ms) == Levels{{2s, dark}, {2s, lit}, {3s, dark}});
}

TEST_CASE("a blink keeps its rhythm from one piece of the time to the next", "[diagram]") {
    const Output lamp{"lid", "lamp", {{1s, "blink 2 Hz", 250ms, 250ms, true}}};
    CHECK(levels_in(lamp, {1s, 2s}, 1ms) ==
          Levels{{1s, dark}, {1s, lit}, {1250ms, dark}, {1500ms, lit}, {1750ms, dark}});
    // A piece that begins within a flash, and one that begins between two.
    CHECK(levels_in(lamp, {1100ms, 1400ms}, 1ms) ==
          Levels{{1100ms, dark}, {1100ms, lit}, {1250ms, dark}});
    CHECK(levels_in(lamp, {1300ms, 1600ms}, 1ms) ==
          Levels{{1300ms, dark}, {1300ms, dark}, {1500ms, lit}});
}

TEST_CASE("a pulse sounds once", "[diagram]") {
    const Output buzzer{"BUZZER", "", {{1s, "pulse 100 ms 0 s", 100ms}}};
    CHECK(levels_in(buzzer, {0s, 5s}, 1ms) == Levels{{0s, dark}, {1s, lit}, {1100ms, dark}});
    CHECK(levels_in(buzzer, {2s, 5s}, 1ms) == Levels{{2s, dark}, {2s, dark}});
}

TEST_CASE("a blink too fast to be drawn is left to the hatching", "[diagram]") {
    const Output lamp{"lid", "lamp", {{1s, "blink 25 Hz", 20ms, 20ms, true}}};
    CHECK(levels_in(lamp, {0s, 5s}, 41ms) == Levels{{0s, dark}, {1s, dark}});
    CHECK(levels_in(lamp, {1s, 1050ms}, 40ms).size() == 4);
    const Output none{"lid", "lamp", {{0s, "", 0s, 0s, true}}};
    CHECK(levels_in(none, {0s, 5s}, 0s) == Levels{{0s, dark}, {0s, dark}});
}
