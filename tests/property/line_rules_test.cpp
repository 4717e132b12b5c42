// SPDX-License-Identifier: MIT
// Lines: which one an input is of, on which chip it was opened, and when to look at the post-halt
// line.
#include "property/scene.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::core;
using namespace nightlatch::test;

namespace {

constexpr LineIndex another = 9;  // no alarm has it

std::vector<Input> inputs_of_another_line(const Scene& scene) {
    return {LineOpened{scene.now, true, another},
            Sample{scene.now, !scene.level, another},
            LevelRead{scene.now, !scene.level, another},
            Resync{scene.now, !scene.level, ResyncWhy::gap, 9'000, another},
            LineGone{scene.now, another}};
}

Settings one_stage(ActOn act_on, Action action = Action::power_off) {
    Settings settings = Scene::table_settings();
    settings.act_on = act_on;
    settings.stages = {{.name = "off", .hold = 3s, .action = action}};
    return settings;
}

/// How long after the press a button that acts at the threshold (3 s) asks.
Duration asked_after(Scene& scene) {
    const std::size_t before = scene.asks();
    const Instant pressed = scene.now;
    scene.press();
    while (scene.asks() == before) {
        REQUIRE(scene.now < pressed + 4s);
        scene.pass(1ms);
    }
    return scene.now - pressed;
}

}  // namespace

TEST_CASE("what comes of a line that nobody has changes nothing, and is traced", "[lines]") {
    for (std::size_t state = 0; state < state_count; ++state) {
        Scene scene(static_cast<State>(state));
        for (const Input& input : inputs_of_another_line(scene)) {
            const Instant due = scene.shell.core().next_deadline();
            const auto settled = scene.shell.core().settled();
            const std::size_t ignored = scene.noted(Why::ignored);
            const std::size_t left = scene.shell.left().size();
            scene.give(input);
            INFO(text_of(static_cast<State>(state)) << " on input " << input.index());
            CHECK(scene.state() == static_cast<State>(state));
            CHECK(scene.shell.core().next_deadline() == due);
            CHECK(scene.shell.core().settled() == settled);
            CHECK(scene.shell.left().size() == left);
            CHECK(scene.noted(Why::ignored) == ignored + 1);
        }
    }
}

TEST_CASE("the guard is that of the chip on which the line was opened last", "[lines]") {
    const Settings settings = one_stage(ActOn::threshold);
    Scene scene(settings, Level::inactive);
    const auto open = [&scene](bool sleeps) {
        scene.give(LineOpened{scene.now, sleeps});
        scene.resync();
        scene.pass(1s);
    };
    const auto anew = [&scene] {
        scene.answer(AnswerKind::refused);
        scene.release();
        scene.pass(10s);
    };
    CHECK(asked_after(scene) == 3005ms);
    anew();
    open(true);
    CHECK(asked_after(scene) == 3050ms);
    anew();
    scene.give(NewSettings{
        scene.now,
        std::make_shared<const Settings>(settings)});  // of the same line, which stays open
    scene.resync();
    scene.pass(1s);
    CHECK(asked_after(scene) == 3050ms);
    anew();
    open(false);
    CHECK(asked_after(scene) == 3005ms);
}

TEST_CASE("a guard of the settings that is longer than the chip's stands", "[lines]") {
    Settings settings = one_stage(ActOn::threshold);
    settings.threshold_guard = 80ms;
    Scene scene(settings, Level::inactive);
    scene.give(LineOpened{scene.now, true});
    scene.resync();
    scene.pass(1s);
    CHECK(asked_after(scene) == 3080ms);
}

TEST_CASE("the post-halt line is looked at once, as the stage is reached that may power off",
          "[look]") {
    Scene scene(Scene::table_settings(), Level::inactive);
    scene.press();
    scene.pass(5s);  // at 3 s the stage that reboots
    CHECK(scene.count<LookAtPostHalt>() == 0);
    scene.pass(2s);
    CHECK(scene.count<LookAtPostHalt>() == 1);
    scene.release();
    scene.pass(1s);
    CHECK(scene.count<LookAtPostHalt>() == 1);
    CHECK(scene.asks() == 1);
}

TEST_CASE("acting at the threshold the post-halt line is looked at as the press begins", "[look]") {
    Scene scene(one_stage(ActOn::threshold), Level::inactive);
    scene.press();
    CHECK(scene.count<LookAtPostHalt>() == 1);
    scene.pass(4s);
    CHECK(scene.count<LookAtPostHalt>() == 1);
    CHECK(scene.asks() == 1);
}

TEST_CASE("nobody looks at the post-halt line where nothing depends on it", "[look]") {
    for (const ActOn act_on : {ActOn::release, ActOn::threshold}) {
        Settings allowed = one_stage(act_on);
        allowed.without_post_halt = WithoutPostHalt::allow;
        for (const Settings& settings :
             {allowed, one_stage(act_on, Action::reboot), one_stage(act_on, Action::announce)}) {
            Scene scene(settings, Level::inactive);
            scene.hold(4s);
            CHECK(scene.count<LookAtPostHalt>() == 0);
            CHECK(requests_of(scene.shell.left()).size() == 1);
        }
    }
}

TEST_CASE("a look that comes too late for the decision is not asked for", "[look]") {
    Scene scene(one_stage(ActOn::release), Level::inactive);
    scene.shell.feed(Sample{scene.now, Level::active});
    scene.shell.feed(Sample{scene.now + 4s, Level::inactive});
    scene.level = Level::inactive;
    scene.pass(10s);
    CHECK(scene.asks() == 1);
    CHECK(scene.count<LookAtPostHalt>() == 0);
}
