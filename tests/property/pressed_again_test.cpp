// SPDX-License-Identifier: MIT
// The button was let go within drop-outs that together are as long as the release interval, and is
// down again: what becomes of the press in each state.
#include "property/scene.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::core;
using namespace nightlatch::test;

TEST_CASE("a hold begins anew: what was reached counts no more", "[again]") {
    for (const State state : {State::holding, State::ready}) {
        Scene scene(state);
        scene.flutter();
        INFO(text_of(state));
        CHECK(scene.state() == State::holding);
        CHECK(scene.noted(Why::pressed_again) == 1);
        const Cue cue = scene.shell.core().cue();
        CHECK(cue.since == scene.now - 30ms);  // the last edge
        CHECK(cue.until == cue.since + 3s);
        CHECK(cue.stage == no_index);
        scene.release();
        CHECK(scene.state() == State::rest);
        CHECK(scene.asks() == 0);
        CHECK(scene.noted(Why::near_miss) == 1);
    }
}

TEST_CASE("the hold that began anew reaches its stage in its own time", "[again]") {
    for (const Duration held : {2999ms, 3000ms}) {
        Scene scene(State::ready);
        scene.flutter();
        scene.pass(held - 30ms);  // it began 30 ms ago
        scene.release();
        CHECK(scene.asks() == (held < 3s ? 0 : 1));
    }
}

TEST_CASE("drop-outs shorter than the release interval in all end nothing", "[again]") {
    Scene scene(State::holding);
    scene.blip();  // 10 ms each
    scene.blip();
    scene.pass(2s);
    CHECK(scene.state() == State::ready);
    scene.blip();
    CHECK(scene.state() == State::holding);
    CHECK(scene.noted(Why::pressed_again) == 1);
}

TEST_CASE("a spent press stays spent", "[again]") {
    for (const State state : {State::asked, State::unanswered}) {
        Scene scene(state);
        scene.press();
        scene.flutter();
        scene.answer(AnswerKind::refused);
        REQUIRE(scene.state() == State::refused);
        scene.flutter();
        CHECK(scene.state() == State::refused);
        scene.pass(5s);
        CHECK(scene.state() == State::waiting);
        scene.flutter();
        scene.pass(4s);
        CHECK(scene.state() == State::waiting);
        scene.release();
        CHECK(scene.state() == State::rest);
        CHECK(scene.asks() == 1);
    }
}

TEST_CASE("a press that has acted on the threshold acts no more", "[again]") {
    Settings settings = Scene::table_settings();
    settings.act_on = ActOn::threshold;
    settings.stages = {{.name = "tell", .hold = 3s, .action = Action::announce}};
    Scene scene(settings, Level::inactive);
    scene.press();
    scene.pass(4s);
    REQUIRE(scene.count<Publish>() == 1);
    scene.flutter();
    scene.pass(10s);
    CHECK(scene.state() == State::waiting);
    CHECK(scene.count<Publish>() == 1);
}

TEST_CASE("a stuck press stays stuck and holds nothing back", "[again]") {
    Scene scene(State::stuck);
    scene.flutter();
    scene.pass(4s);
    CHECK(scene.state() == State::stuck);
    scene.alarm();
    scene.flutter();
    CHECK(scene.state() == State::asked);
    scene.going_down(true);
    CHECK(scene.count<DelayLock>() == 1);  // let go at once
    Scene released(State::stuck);
    released.flutter();
    released.release();
    CHECK(released.state() == State::rest);
    CHECK(released.asks() == 0);
}

TEST_CASE("a level that was there at the start is not a press", "[again]") {
    Scene scene(State::waiting);
    scene.pass(20s);
    scene.flutter();
    CHECK(scene.state() == State::waiting);
    scene.pass(29s);
    CHECK(scene.noted(Why::pressed_since_start) == 0);  // not yet for 30 s
    scene.pass(1s);
    CHECK(scene.noted(Why::pressed_since_start) == 1);
    scene.release();
    CHECK(scene.state() == State::rest);
    CHECK(scene.asks() == 0);
}

TEST_CASE("a press calls a countdown off by what it lasts from then on", "[again]") {
    Scene scene(State::countdown);
    scene.pass(1s);
    scene.press();
    scene.flutter();  // begun 120 ms ago, and anew 30 ms ago
    CHECK(scene.state() == State::countdown);
    scene.pass(69ms);
    CHECK(scene.state() == State::countdown);
    scene.pass(1ms);
    CHECK(scene.state() == State::waiting);
    CHECK(scene.noted(Why::called_off) == 1);
}

TEST_CASE("a press from before an alarm is spent, whatever its drop-outs", "[again]") {
    Settings settings = Scene::table_settings();
    settings.grace = 5s;
    for (const Duration held : {1s, 31s}) {  // spent, stuck
        Scene scene(settings, Level::inactive);
        scene.press();
        scene.pass(held);
        scene.alarm();
        REQUIRE(scene.state() == State::asked);
        scene.pass(1s);
        scene.flutter();
        scene.pass(4s);
        scene.release();
        CHECK(scene.asks() == 1);
    }
}

TEST_CASE("the finger still holds the machine back until it is off", "[again]") {
    Scene scene(State::holding);
    scene.going_down(true);
    scene.flutter();
    CHECK(scene.count<DelayLock>() == 0);
    scene.release();
    CHECK(scene.count<DelayLock>() == 1);
}

TEST_CASE("drop-outs from before a Resync do not count", "[again]") {
    Scene scene(State::holding);
    scene.blip();
    scene.blip();
    scene.resync();
    scene.release();
    scene.press();
    scene.blip();
    scene.blip();
    CHECK(scene.noted(Why::pressed_again) == 0);
    CHECK(scene.state() == State::holding);
}
