// SPDX-License-Identifier: MIT
#include "bounce/line_watch.hpp"

#include <vector>

#include <catch2/catch_test_macros.hpp>
#include <catch2/generators/catch_generators.hpp>

using namespace nightlatch;
using namespace std::chrono_literals;
using bounce::LineWatch;

namespace {

constexpr Instant start{1000s};

/// Gives the line its edges, each `after` the start to the other level, and lets time pass between.
void play(LineWatch& line, Level first, const std::vector<Duration>& changes) {
    Level level = first;
    for (const Duration after : changes) {
        line.advance(start + after - 1ns);
        level = !level;
        line.sample({start + after, level});
    }
}

}  // namespace

TEST_CASE("a press and a release show the rest level, whichever it is", "[watch]") {
    const Level rest = GENERATE(Level::inactive, Level::active);
    LineWatch line(start, rest);
    play(line, rest, {3s, 4s});
    line.advance(start + 4s + 29ms);
    CHECK(line.settling());
    CHECK_FALSE(line.whole_press());
    line.advance(start + 4s + 30ms);
    CHECK(line.whole_press());
    CHECK(line.rest() == rest);
    CHECK(line.edges() == 2);
    CHECK(line.changes() == 2);
    CHECK(line.first_change() == start + 3s + 30ms);
    CHECK(line.deadline() == never);
}

TEST_CASE("a line that nobody moves has nothing to wait for", "[watch]") {
    LineWatch line(start, Level::active);
    line.advance(line.deadline());
    CHECK(line.deadline() == never);
    line.advance(start + 1h);
    CHECK(line.changes() == 0);
    CHECK(line.edges() == 0);
    CHECK_FALSE(line.whole_press());
    CHECK(line.rest() == Level::active);
    CHECK(line.first_change() == never);
}

TEST_CASE("bounces are counted and are no presses", "[watch]") {
    LineWatch line(start, Level::active);
    play(line, Level::active, {3s, 3s + 2ms, 3s + 5ms, 4s, 4s + 1ms, 4s + 3ms});
    line.advance(start + 5s);
    CHECK(line.edges() == 6);
    CHECK(line.changes() == 2);
    CHECK(line.whole_press());
}

TEST_CASE("a quick press held for longer than it was waited for is whole when it has rested longer",
          "[watch]") {
    LineWatch line(start, Level::active);
    play(line, Level::active, {500ms, 2500ms});  // 0.53 s high, 2 s low, then high again
    line.advance(start + 2530ms);
    CHECK(line.rest() == Level::inactive);
    CHECK_FALSE(line.whole_press());
    const Instant due = line.deadline();
    CHECK(due == start + 2530ms + (2s - 530ms));
    line.advance(due - 1ns);
    CHECK_FALSE(line.whole_press());
    line.advance(due);
    CHECK(line.whole_press());
    CHECK(line.rest() == Level::active);
    CHECK(line.deadline() == never);
}

TEST_CASE("a button held from the start: let go for longer, the next press tells the rest level",
          "[watch]") {
    LineWatch line(start, Level::inactive);  // held low
    play(line, Level::inactive, {1s});
    line.advance(start + 4s);
    CHECK_FALSE(line.whole_press());
    CHECK(line.rest() == Level::active);
    line.sample({start + 5s, Level::inactive});
    line.advance(start + 6s - 1ns);
    CHECK_FALSE(line.whole_press());
    line.sample({start + 6s, Level::active});
    line.advance(start + 6s + 30ms);
    CHECK(line.whole_press());
    CHECK(line.rest() == Level::active);
}

TEST_CASE(
    "held from the start and let go once is not a whole press, but tells the likely rest level",
    "[watch]") {
    LineWatch line(start, Level::inactive);
    play(line, Level::inactive, {1s});
    line.advance(start + 60s);
    CHECK(line.changes() == 1);
    CHECK_FALSE(line.whole_press());
    CHECK(line.rest() == Level::active);
}

TEST_CASE("a level that had changed before the first edge came counts as a change", "[watch]") {
    LineWatch line(start, Level::inactive);
    line.sample({start - 1ms, Level::active});
    CHECK(line.deadline() == start + 30ms);
    line.advance(start + 30ms);
    CHECK(line.changes() == 1);
}

TEST_CASE("a line that will not settle is unsteady, not a press", "[watch]") {
    LineWatch line(start, Level::inactive);
    line.advance(start + 1s);
    std::vector<Duration> toggles;
    for (Duration at = 1s; at < 4s; at += 10ms) {
        toggles.push_back(at);
    }
    play(line, Level::inactive, toggles);
    CHECK(line.unsteady());
    CHECK_FALSE(line.whole_press());
    CHECK(line.edges() == 300);
}

TEST_CASE("the watch is over when one line is whole and none is settling", "[watch]") {
    std::vector<LineWatch> lines(2, LineWatch(start, Level::active));
    CHECK_FALSE(finished(lines));
    play(lines[0], Level::active, {3s, 4s});
    play(lines[1], Level::active, {3s, 4s + 10ms});
    for (LineWatch& line : lines) {
        line.advance(start + 4s + 30ms);
    }
    CHECK(lines[0].whole_press());
    CHECK_FALSE(finished(lines));
    CHECK(next_deadline(lines) == start + 4s + 40ms);
    lines[1].advance(start + 4s + 40ms);
    CHECK(finished(lines));
    CHECK(next_deadline(lines) == never);
}
