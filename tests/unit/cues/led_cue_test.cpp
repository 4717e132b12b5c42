// SPDX-License-Identifier: MIT
#include "cue_world.hpp"
#include "daemon/cues/led_cue.hpp"
#include "system/sys/kernel_timer.hpp"

#include <algorithm>

#include <catch2/catch_test_macros.hpp>

namespace nightlatch::cues {
namespace {

using namespace std::chrono_literals;
using core::CueName;
using core::PatternKind;
using test::cue;
using Texts = std::vector<std::string>;

core::Looks tide_logger() {
    core::Looks looks;
    looks.by_cue[static_cast<std::size_t>(CueName::holding)] = {PatternKind::blink, 125ms, 125ms};
    looks.by_cue[static_cast<std::size_t>(CueName::ready)] = {PatternKind::on, 0s, 0s};
    looks.by_cue[static_cast<std::size_t>(CueName::countdown)] = {PatternKind::blink, 125ms, 125ms};
    looks.by_cue[static_cast<std::size_t>(CueName::leaving)] = {PatternKind::blink, 20ms, 20ms};
    looks.by_cue[static_cast<std::size_t>(CueName::refused)] = {PatternKind::pulse, 30ms, 0ms};
    return looks;
}

struct LedWorld : test::CueWorld {
    explicit LedWorld(test::FakeLedSettings fake = {},
                      Patience patience = {},
                      core::Looks looks = tide_logger())
        : led(*loop, root.path(), std::move(fake)), output(*loop,
                                                           journal,
                                                           {.name = "front",
                                                            .looks = std::move(looks),
                                                            .root = root.path().string(),
                                                            .patience = patience}) {}

    [[nodiscard]] bool shows(const char* on, const char* off) const {
        return led.get("delay_on") == on && led.get("delay_off") == off;
    }

    [[nodiscard]] long writes_of(const std::string& write) const {
        return std::count(led.written().begin(), led.written().end(), write);
    }

    test::FakeLed led;
    LedCue output;
};

TEST_CASE("the timer trigger is set once and then steered, however often the cue changes",
          "[led]") {
    LedWorld world;
    world.output.show(cue(CueName::holding));
    world.await([&] { return world.shows("125", "125"); });
    world.output.show(cue(CueName::ready));
    world.await([&] { return world.shows("500", "0"); });
    world.output.show(cue(CueName::rest));
    world.await([&] { return world.shows("0", "500"); });
    world.settle();
    CHECK(world.writes_of("trigger=timer") == 1);
    CHECK(world.journal.lines.empty());  // udev was late, which is nothing to tell
}

TEST_CASE("each stage has its own look while the cue stays ready", "[led]") {
    core::Looks looks = tide_logger();
    looks.ready_by_stage = {{PatternKind::blink, 250ms, 250ms}, {PatternKind::on, 0s, 0s}, {}};
    LedWorld world{{}, {}, looks};
    core::Cue ready = cue(CueName::ready);
    ready.stage = 0;
    world.output.show(ready);
    world.await([&] { return world.shows("250", "250"); });
    ready.stage = 1;
    world.output.show(ready);
    world.await([&] { return world.shows("500", "0"); });
    ready.stage = 2;
    world.output.show(ready);
    world.await([&] { return world.shows("0", "500"); });
}

TEST_CASE("a blink is the kernel's work: nothing wakes us while it is shown", "[led]") {
    LedWorld world;
    world.output.show(cue(CueName::holding));
    CHECK(test::kernel_timer_is_set() == false);  // not before the loop has turned
    world.await([&] { return world.shows("125", "125"); });
    world.settle();
    CHECK_FALSE(test::kernel_timer_is_set());
}

TEST_CASE("a cue that looks like the one before is not written again", "[led]") {
    LedWorld world;
    world.output.show(cue(CueName::holding));
    world.await([&] { return world.shows("125", "125"); });
    world.settle();
    const auto before = world.led.written().size();
    world.output.show(cue(CueName::countdown));
    world.settle();
    CHECK(world.led.written().size() == before);
}

TEST_CASE("a pulse is played once, and again when it is shown again", "[led]") {
    LedWorld world;
    for (int i = 0; i < 2; ++i) {
        world.output.show(cue(CueName::refused));
        world.await([&] { return world.shows("500", "0"); });
        world.await([&] { return world.shows("0", "500"); });
    }
    world.settle();
    CHECK_FALSE(test::kernel_timer_is_set());
}

TEST_CASE("a trigger already set to timer is not set again: that would make new files", "[led]") {
    LedWorld world;
    world.output.show(cue(CueName::holding));
    world.await([&] { return world.shows("125", "125"); });

    LedCue next{*world.loop,
                world.journal,
                {.name = "front",
                 .looks = tide_logger(),
                 .root = world.root.path().string(),
                 .patience = {}}};
    next.show(cue(CueName::ready));
    world.await([&] { return world.shows("500", "0"); });
    world.settle();
    CHECK(world.writes_of("trigger=timer") == 1);
}

TEST_CASE("without the timer trigger we blink by brightness, and only while the cue is shown",
          "[led]") {
    LedWorld world{{.triggers = "[none] heartbeat"}};
    world.output.show(cue(CueName::leaving));
    world.await([&] {
        return world.writes_of("brightness=255") >= 2 && world.writes_of("brightness=0") >= 2;
    });
    world.output.show(cue(CueName::rest));
    world.settle();
    CHECK(world.led.get("brightness") == "0");
    CHECK_FALSE(test::kernel_timer_is_set());
    CHECK(world.writes_of("trigger=timer") == 0);
    CHECK(world.journal.lines.empty());
}

TEST_CASE("when udev does not answer the change we say so once and blink it ourselves", "[led]") {
    LedWorld world{{.udev_answers = false}, {.whole = 60ms, .pause = 10s}};
    world.output.show(cue(CueName::leaving));
    world.await([&] {
        return world.writes_of("brightness=255") >= 2 && world.writes_of("brightness=0") >= 2;
    });
    REQUIRE(world.journal.lines.size() == 1);
    CHECK(world.journal.lines[0].find("delay_on: Permission denied") != std::string::npos);
    CHECK(world.journal.lines[0].find("40-nightlatch.rules") != std::string::npos);
}

TEST_CASE("an LED that is not there is told once, with those that are, and shown when it comes",
          "[led]") {
    test::CueWorld world;
    std::filesystem::create_directory(world.root.path() / "green");
    LedCue output{*world.loop,
                  world.journal,
                  {.name = "front",
                   .looks = tide_logger(),
                   .root = world.root.path().string(),
                   .patience = {.whole = 500ms, .pause = 50ms}}};
    output.show(cue(CueName::holding));
    world.await([&] { return !world.journal.lines.empty(); });
    CHECK(world.journal.lines[0].find("front/brightness: No such file") != std::string::npos);
    CHECK(world.journal.lines[0].find("there are: green") != std::string::npos);
    world.settle();
    CHECK_FALSE(test::kernel_timer_is_set());  // no further try without a reason

    const test::FakeLed led{*world.loop, world.root.path(), {}};
    output.show(cue(CueName::ready));  // if the pause is not over, the try waits for it
    world.await([&] { return led.get("delay_off") == "0"; });
    REQUIRE(world.journal.lines.size() == 2);
    CHECK(world.journal.lines[1] == "LED \"front\" can be driven again");
}

TEST_CASE("stopped by a person, the LED gets back its trigger", "[led]") {
    LedWorld world{{.triggers = "none timer [heartbeat]"}};
    world.output.show(cue(CueName::holding));
    world.await([&] { return world.shows("125", "125"); });
    world.output.finish(cues::Farewell::stopped);
    world.await([&] { return world.writes_of("trigger=heartbeat") == 1; });
    world.settle();
    CHECK(world.led.written().back() == "trigger=heartbeat");
}

TEST_CASE("stopped by a person, an LED without a trigger gets back its brightness", "[led]") {
    LedWorld world{{.brightness = "3"}};
    world.output.show(cue(CueName::ready));
    world.await([&] { return world.shows("500", "0"); });
    world.output.finish(cues::Farewell::stopped);
    world.await([&] { return world.led.get("brightness") == "3"; });
    world.settle();
    CHECK(world.led.get("trigger") == "[none] timer heartbeat");
}

TEST_CASE("stopped by a shutdown, the leaving cue goes on", "[led]") {
    LedWorld world;
    world.output.show(cue(CueName::leaving));
    world.await([&] { return world.shows("20", "20"); });
    world.settle();
    const auto before = world.led.written().size();
    world.output.finish(cues::Farewell::shutdown);
    world.settle();
    CHECK(world.led.written().size() == before);
}

TEST_CASE("stopped by a shutdown, an LED that we blink stays lit", "[led]") {
    LedWorld world{{.triggers = "[none] heartbeat"}};
    world.output.show(cue(CueName::leaving));
    world.await([&] { return world.led.get("brightness") == "0"; });
    world.output.finish(cues::Farewell::shutdown);
    CHECK(world.led.get("brightness") == "255");
}

TEST_CASE("an LED that was never shown anything is left as it is", "[led]") {
    LedWorld world;
    world.output.finish(cues::Farewell::stopped);
    world.settle();
    CHECK(world.led.written().empty());
}

}  // namespace
}  // namespace nightlatch::cues
