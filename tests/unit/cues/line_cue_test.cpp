// SPDX-License-Identifier: MIT
#include "cue_world.hpp"
#include "daemon/cues/line_cue.hpp"
#include "system/sys/kernel_timer.hpp"

#include <algorithm>

#include <catch2/catch_test_macros.hpp>

namespace nightlatch::cues {
namespace {

using namespace std::chrono_literals;
using core::CueName;
using core::PatternKind;
using test::cue;

core::Looks harbour_horn() {
    core::Looks looks;
    looks.by_cue[static_cast<std::size_t>(CueName::holding)] = {PatternKind::blink, 10ms, 10ms};
    looks.by_cue[static_cast<std::size_t>(CueName::ready)] = {PatternKind::on, 0s, 0s};
    looks.by_cue[static_cast<std::size_t>(CueName::refused)] = {PatternKind::pulse, 20ms, 0ms};
    return looks;
}

struct LineWorld : test::CueWorld {
    explicit LineWorld(Patience patience = {}, core::Looks looks = harbour_horn())
        : output(*loop,
                 journal,
                 {[this]() -> Outcome {
                      ++opened;
                      if (bad) {
                          return Unexpected{Error{Trouble::no_chip, "no chip \"pontoon\""}};
                      }
                      return std::monostate{};
                  },
                  [this](Level level) -> Outcome {
                      if (bad) {
                          return Unexpected{Error{Trouble::gone, "the chip is gone"}};
                      }
                      levels.push_back(level);
                      return std::monostate{};
                  },
                  [this] { ++closed; }},
                 {.name = "HORN of pontoon", .looks = std::move(looks), .patience = patience}) {}

    bool bad = false;
    int opened = 0;
    int closed = 0;
    std::vector<Level> levels;
    LineCue output;
};

TEST_CASE("a cue that is off leaves the line inactive and wakes nobody", "[line]") {
    LineWorld world;
    world.output.show(cue(CueName::rest));
    world.settle();
    CHECK(world.levels == std::vector<Level>{Level::inactive});
    CHECK_FALSE(test::kernel_timer_is_set());
}

TEST_CASE("a blinking line alternates for as long as the cue is shown", "[line]") {
    LineWorld world;
    world.output.show(cue(CueName::holding));
    CHECK(world.levels == std::vector<Level>{Level::active});
    world.await([&] {
        return std::count(world.levels.begin(), world.levels.end(), Level::active) >= 3 &&
               std::count(world.levels.begin(), world.levels.end(), Level::inactive) >= 3;
    });
    world.output.show(cue(CueName::ready));
    world.settle();
    CHECK(world.levels.back() == Level::active);
    CHECK_FALSE(test::kernel_timer_is_set());
}

TEST_CASE("a pulse sounds once and ends", "[line]") {
    LineWorld world;
    world.output.show(cue(CueName::refused));
    world.await([&] { return world.levels.size() >= 2; });
    world.settle();
    CHECK(world.levels == std::vector<Level>{Level::active, Level::inactive});
    CHECK_FALSE(test::kernel_timer_is_set());
}

TEST_CASE("a pulse sounds again at each stage, and where a stage is dark the line is let fall",
          "[line]") {
    core::Looks looks = harbour_horn();
    const core::Pattern beep{PatternKind::pulse, 1ms, 0ms};
    looks.ready_by_stage = {beep, beep, {}, {PatternKind::on, 0s, 0s}};
    LineWorld world{{}, looks};
    core::Cue ready = cue(CueName::ready);
    std::vector<Level> expected;
    for (ready.stage = 0; ready.stage < 2; ++ready.stage) {
        world.output.show(ready);
        expected.insert(expected.end(), {Level::active, Level::inactive});
        world.await([&] { return world.levels == expected; });
    }
    world.output.show(ready);
    expected.push_back(Level::inactive);
    CHECK(world.levels == expected);
    ready.stage = 3;
    world.output.show(ready);
    expected.push_back(Level::active);
    CHECK(world.levels == expected);
}

TEST_CASE("a line that is not available is told once and taken when it comes", "[line]") {
    LineWorld world{{.whole = 20ms, .pause = 30ms}};
    world.bad = true;
    world.output.show(cue(CueName::ready));
    world.await([&] { return !world.journal.lines.empty(); });
    CHECK(world.journal.lines.front() == "cue line HORN of pontoon: no chip \"pontoon\"");
    CHECK(world.opened > 1);

    world.bad = false;
    world.output.show(cue(CueName::ready));
    world.await([&] { return !world.levels.empty(); });
    CHECK(world.levels.back() == Level::active);
    REQUIRE(world.journal.lines.size() == 2);
    CHECK(world.journal.lines[1] == "cue line HORN of pontoon can be driven again");
}

TEST_CASE("a line that vanishes is closed and asked for again by itself", "[line]") {
    LineWorld world;
    world.output.show(cue(CueName::holding));
    world.await([&] { return world.levels.size() >= 2; });
    world.bad = true;
    world.await([&] { return world.closed == 1; });
    world.bad = false;
    const auto before = world.levels.size();
    world.await([&] { return world.levels.size() > before; });
    CHECK(world.opened == 2);
    CHECK(world.journal.lines.empty());
}

TEST_CASE("stopped, the line is inactive; at a shutdown a steady cue stays, a sounding one ends",
          "[line]") {
    struct Case {
        CueName shown;
        cues::Farewell farewell;
        Level left;
    };

    for (const Case& one : {Case{CueName::ready, cues::Farewell::stopped, Level::inactive},
                            Case{CueName::ready, cues::Farewell::unusable, Level::inactive},
                            Case{CueName::ready, cues::Farewell::shutdown, Level::active},
                            Case{CueName::holding, cues::Farewell::shutdown, Level::inactive},
                            Case{CueName::refused, cues::Farewell::shutdown, Level::inactive}}) {
        LineWorld world;
        world.output.show(cue(one.shown));
        world.output.finish(one.farewell);
        CHECK(world.levels.back() == one.left);
        world.settle();
        CHECK_FALSE(test::kernel_timer_is_set());
    }
}

}  // namespace
}  // namespace nightlatch::cues
