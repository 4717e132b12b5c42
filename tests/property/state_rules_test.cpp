// SPDX-License-Identifier: MIT
// What the words around the state table add to its cells.
#include "base/duration_text.hpp"
#include "property/scene.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::core;
using namespace nightlatch::test;

namespace {

Settings with_grace(Duration grace) {
    Settings settings = Scene::table_settings();
    settings.grace = grace;
    return settings;
}

Settings on_threshold(Action action) {
    Settings settings = Scene::table_settings();
    settings.act_on = ActOn::threshold;
    settings.stages = {{.name = "off", .hold = 3s, .action = action}};
    return settings;
}

}  // namespace

// --- "rest" means waiting unless the line is known released
// ----------------------------------------

TEST_CASE("a refusal over while the button is pressed leads to waiting", "[rules]") {
    Scene scene(on_threshold(Action::power_off), Level::inactive);
    scene.press();
    scene.pass(4s);
    REQUIRE(scene.asks() == 1);
    scene.answer(AnswerKind::refused);
    CHECK(scene.state() == State::refused);
    scene.pass(5s);
    CHECK(scene.state() == State::waiting);
    scene.release();
    CHECK(scene.state() == State::rest);
    scene.pass(1min);
    CHECK(scene.asks() == 1);
}

TEST_CASE("a shutdown that was not to be, with the button pressed, leads to waiting", "[rules]") {
    Scene scene(State::rest);
    scene.going_down(true);
    scene.press();
    scene.going_down(false);
    CHECK(scene.state() == State::waiting);
    scene.release();
    CHECK(scene.state() == State::rest);
}

namespace {

/// Waits while every attempt to open the line fails.
void pass_without_line(Scene& scene, Duration time) {
    const Instant until = scene.now + time;
    std::size_t attempts = scene.count<OpenLine>();
    while (scene.now < until) {
        scene.pass(100ms);
        if (scene.count<OpenLine>() > attempts) {
            attempts = scene.count<OpenLine>();
            scene.give(LineGone{scene.now});
        }
    }
}

}  // namespace

TEST_CASE("at rest means fault while the button's line is closed", "[rules]") {
    Scene refused(State::asked);
    refused.give(LineGone{refused.now});
    CHECK(refused.state() == State::asked);
    refused.answer(AnswerKind::refused);
    CHECK(refused.state() == State::refused);
    pass_without_line(refused, 5s);
    CHECK(refused.state() == State::fault);
    Scene left(State::rest);
    left.going_down(true);
    left.give(LineGone{left.now});
    left.going_down(false);
    CHECK(left.state() == State::fault);
    Scene dry(State::asked);
    dry.answer(AnswerKind::would_do);
    dry.give(LineGone{dry.now});
    pass_without_line(dry, 5s);
    CHECK(dry.state() == State::fault);
}

TEST_CASE("an announcement on the threshold leads to waiting while the button is pressed",
          "[rules]") {
    Scene scene(on_threshold(Action::announce), Level::inactive);
    scene.press();
    scene.pass(10s);
    CHECK(scene.count<Publish>() == 1);
    CHECK(scene.state() == State::waiting);
    scene.release();
    CHECK(scene.state() == State::rest);
    CHECK(scene.count<Publish>() == 1);
}

// --- deciding
// --------------------------------------------------------------------------------------

TEST_CASE("the longest stage reached acts, when the button is let go", "[rules]") {
    Scene shorter(State::rest);
    shorter.hold(3s);
    REQUIRE(shorter.asks() == 1);
    CHECK(shorter.last_ask().action == Action::reboot);
    CHECK(shorter.last_ask().stage == 0);
    Scene longer(State::rest);
    longer.hold(6s);
    REQUIRE(longer.asks() == 1);
    CHECK(longer.last_ask().action == Action::power_off);
    CHECK(longer.last_ask().stage == 1);
    CHECK(longer.last_ask().held == 6s);
}

TEST_CASE("an announcement is published and the next press counts", "[rules]") {
    Settings settings = Scene::table_settings();
    settings.stages[0].action = Action::announce;
    settings.grace = 5s;  // is for what cannot be taken back
    Scene scene(settings, Level::inactive);
    scene.hold(4s);
    CHECK(scene.count<Publish>() == 1);
    CHECK(scene.state() == State::rest);
    scene.hold(4s);
    CHECK(scene.count<Publish>() == 2);
    CHECK(scene.asks() == 0);
}

TEST_CASE("only a power-off is refused without a post-halt line, only if the settings say so",
          "[rules]") {
    for (const Verdict verdict :
         {Verdict::configured, Verdict::contradicted, Verdict::absent, Verdict::cannot_tell}) {
        for (const WithoutPostHalt rule :
             {WithoutPostHalt::allow, WithoutPostHalt::warn, WithoutPostHalt::refuse}) {
            for (const Duration hold : {3s, 6s}) {  // reboot, power-off
                Settings settings = Scene::table_settings();
                settings.without_post_halt = rule;
                Scene scene(settings, Level::inactive);
                scene.give(VerdictKnown{scene.now, verdict});
                scene.hold(hold);
                const bool stays_on =
                    verdict == Verdict::contradicted || verdict == Verdict::absent;
                const bool refused =
                    stays_on && rule == WithoutPostHalt::refuse && hold == Duration(6s);
                CHECK(scene.state() == (refused ? State::refused : State::asked));
                CHECK(scene.asks() == (refused ? 0 : 1));
                CHECK(scene.noted(Why::no_post_halt) == (refused ? 1 : 0));
            }
        }
    }
}

TEST_CASE("a missing post-halt line never blocks an alarm", "[rules]") {
    Settings settings = Scene::table_settings();
    settings.without_post_halt = WithoutPostHalt::refuse;
    Scene scene(settings, Level::inactive);
    scene.give(VerdictKnown{scene.now, Verdict::absent});
    scene.alarm();
    REQUIRE(scene.asks() == 1);
    CHECK(scene.last_ask().alarm == 0);
    CHECK(scene.last_ask().stage == no_index);
    CHECK(scene.last_ask().held == Duration::zero());
    CHECK(scene.last_ask().inhibitors == Inhibitors::override_them);
}

TEST_CASE("an alarm asks without a countdown, its own or a press's", "[rules]") {
    Scene alone(with_grace(5s), Level::inactive);
    alone.alarm();
    CHECK(alone.state() == State::asked);
    CHECK(alone.asks() == 1);
    Scene second(State::countdown);
    second.alarm();
    CHECK(second.state() == State::asked);
    CHECK(second.last_ask().alarm == 0);
    second.pass(1min);
    CHECK(second.asks() == 1);
}

TEST_CASE("an alarm that only announces is published and changes no state", "[rules]") {
    for (std::size_t i = 0; i < state_count; ++i) {
        const auto state = static_cast<State>(i);
        Settings settings = Scene::table_settings();
        settings.alarms[0].action = Action::announce;
        Scene scene(state, settings);
        INFO(text_of(state));
        const Instant due = scene.shell.core().next_deadline();
        scene.alarm();
        CHECK(scene.state() == state);
        CHECK(scene.shell.core().next_deadline() == due);
        CHECK(scene.count<Publish>() == 1);
        CHECK(scene.last<Publish>().alarm == 0);
    }
}

TEST_CASE("no press, no trouble of the button's line and no CallOff stops an alarm's request",
          "[rules]") {
    for (const bool sends : {true, false}) {
        Scene scene(State::rest);
        scene.shell.sends = sends;
        scene.alarm();
        scene.hold(4s);
        scene.call_off();
        CHECK_FALSE(scene.last<CalledOff>().done);
        scene.resync();
        scene.give(LineGone{scene.now});
        CHECK(scene.state() == State::asked);
        CHECK(scene.asks() == 1);
        CHECK(scene.count<Withdraw>() == 0);
    }
}

TEST_CASE("a press that an alarm overtook is spent", "[rules]") {
    for (const State state : {State::holding, State::ready}) {
        Scene scene(state);
        scene.alarm();
        scene.answer(AnswerKind::refused);
        scene.pass(3s);
        scene.release();
        scene.pass(1min);
        CHECK(scene.asks() == 1);
        CHECK(scene.state() == State::rest);
    }
}

TEST_CASE("on the threshold the press is spent when it has acted", "[rules]") {
    Scene scene(on_threshold(Action::power_off), Level::inactive);
    scene.press();
    scene.pass(4s);
    REQUIRE(scene.state() == State::asked);
    scene.release();
    CHECK(scene.state() == State::asked);
    scene.answer(AnswerKind::refused);
    scene.pass(1min);
    CHECK(scene.state() == State::rest);
    CHECK(scene.asks() == 1);
}

// --- the countdown
// ---------------------------------------------------------------------------------

namespace {

/// A countdown, and in it a press `after` the release that decided, for `held`.
Scene pressed_in_countdown(Duration after, Duration held, Duration grace = 5s) {
    Scene scene(with_grace(grace), Level::inactive);
    scene.hold(4s);  // settled 30 ms after the release
    scene.pass(after - 30ms);
    scene.shell.sample(scene.now, Level::active);
    scene.pass(held);
    scene.shell.sample(scene.now, Level::inactive);
    return scene;
}

}  // namespace

TEST_CASE(
    "whoever is on the button half a second after letting go calls off, however soon it began",
    "[rules]") {
    // By then it has to be confirmed (30 ms) and to have lasted for 100 ms.
    for (const Duration after :
         {31ms, 100ms, 300ms, 399ms, 400ms, 401ms, 470ms, 499ms, 500ms, 2000ms}) {
        const Duration least = std::max<Duration>(100ms, 500ms - after);
        for (const Duration held : {least - 1ms, least}) {
            Scene scene = pressed_in_countdown(after, held);
            INFO(to_text(after) << " after, for " << to_text(held));
            scene.pass(1min);
            CHECK(scene.asks() == (held < least ? 1 : 0));
            CHECK(scene.noted(Why::called_off) == (held < least ? 0 : 1));
        }
    }
}

TEST_CASE("a call-off is at the first instant at which it is one", "[rules]") {
    for (const auto& [after, at] : {std::pair{100ms, 500ms}, std::pair{450ms, 550ms}}) {
        Scene scene(with_grace(5s), Level::inactive);
        const Instant let_go = scene.now + 4s;
        scene.hold(4s);
        scene.pass(after - 30ms);
        scene.press();
        scene.pass(let_go + at - scene.now - 1ms);
        CHECK(scene.state() == State::countdown);
        scene.pass(1ms);
        CHECK(scene.state() == State::waiting);
    }
}

TEST_CASE("three taps in a row are no call-off", "[rules]") {
    Scene scene(with_grace(5s), Level::inactive);
    scene.hold(4s);
    for (int i = 0; i < 3; ++i) {
        scene.pass(150ms);
        scene.hold(90ms);
    }
    scene.pass(1min);
    CHECK(scene.asks() == 1);
    CHECK(scene.noted(Why::called_off) == 0);
}

TEST_CASE("the countdown waits for a press that may still call it off, and for an episode",
          "[rules]") {
    for (const Duration before : {1ms, 29ms, 31ms, 99ms}) {
        Scene ended = pressed_in_countdown(30ms + 1s - before, 90ms, 1s);
        ended.pass(29ms);
        INFO(to_text(before) << " before its end");
        CHECK(ended.asks() == 0);
        ended.pass(1ms);
        CHECK(ended.asks() == 1);
        Scene stayed = pressed_in_countdown(30ms + 1s - before, 100ms, 1s);
        stayed.pass(1min);
        CHECK(stayed.asks() == 0);
        CHECK(stayed.noted(Why::called_off) == 1);
    }
    Scene episode(with_grace(1s), Level::inactive);
    episode.hold(4s);
    episode.pass(999ms);
    episode.shell.sample(episode.now, Level::inactive);  // an equal sample opens one, too
    episode.pass(29ms);
    CHECK(episode.asks() == 0);
    episode.pass(1ms);
    CHECK(episode.asks() == 1);
}

TEST_CASE("a countdown shorter than the pause waits for the press that began in it", "[rules]") {
    for (const Duration held : {459ms, 460ms}) {
        Scene scene = pressed_in_countdown(40ms, held, 100ms);
        scene.pass(1min);
        CHECK(scene.asks() == (held < 460ms ? 1 : 0));
    }
}

TEST_CASE("CallOff ends a countdown, and a press's request that has not been sent", "[rules]") {
    Scene counting(State::countdown);
    counting.call_off();
    CHECK(counting.state() == State::rest);
    counting.pass(1min);
    CHECK(counting.asks() == 0);
    Scene unsent(State::rest);
    unsent.shell.sends = false;
    unsent.hold(4s);
    unsent.call_off();
    CHECK(unsent.state() == State::rest);
    CHECK(unsent.last<Withdraw>().number == unsent.last_ask().number);
    CHECK_FALSE(unsent.shell.core().may_send(unsent.last_ask().number));
    unsent.shell.sends = true;
    unsent.hold(4s);
    CHECK(unsent.asks() == 2);
}

TEST_CASE("CallOff with a press in the countdown under way spends that press", "[rules]") {
    Scene scene(State::countdown);
    scene.press();
    scene.call_off();
    CHECK(scene.state() == State::waiting);
    scene.pass(4s);
    scene.release();
    scene.pass(1min);
    CHECK(scene.asks() == 0);
    CHECK(scene.state() == State::rest);
}

TEST_CASE("the press that called off asks for nothing, however long", "[rules]") {
    Scene scene(State::countdown);
    scene.pass(1s);
    scene.press();
    scene.pass(10s);
    CHECK(scene.state() == State::waiting);
    scene.release();
    CHECK(scene.state() == State::rest);
    scene.pass(1min);
    CHECK(scene.asks() == 0);
    scene.hold(4s);
    scene.pass(5s);
    CHECK(scene.asks() == 1);
}

TEST_CASE("a reload calls a countdown off and voids a hold", "[rules]") {
    for (const State state : {State::holding, State::ready, State::countdown}) {
        Scene scene(state);
        scene.give(
            NewSettings{scene.now, std::make_shared<const Settings>(Scene::table_settings())});
        CHECK(scene.state() == State::waiting);
        scene.resync();
        scene.release();
        scene.pass(1min);
        CHECK(scene.asks() == 0);
        CHECK(scene.state() == State::rest);
    }
}

TEST_CASE("anyone's shutdown voids holds and countdowns, even if it is not to be", "[rules]") {
    for (const State state : {State::holding, State::ready, State::countdown}) {
        Scene scene(state);
        scene.going_down(true);
        scene.pass(1s);
        scene.going_down(false);
        CHECK(scene.state() == (state == State::countdown ? State::rest : State::waiting));
        scene.release();
        scene.pass(1min);
        CHECK(scene.asks() == 0);
        CHECK(scene.state() == State::rest);
    }
}

// --- going down with the button pressed
// --------------------------------------------------------------

namespace {

/// Whether the delay inhibitor is held, as the actions that left say; it is at the start.
bool lock_held(const Scene& scene) {
    bool held = true;
    for (const Left& left : scene.shell.left()) {
        if (const auto* lock = std::get_if<DelayLock>(&left.action)) {
            held = lock->hold;
        }
    }
    return held;
}

}  // namespace

TEST_CASE("the delay inhibitor is let go at once unless the line is pressed and not stuck",
          "[rules]") {
    for (const State state : {State::rest,
                              State::stuck,
                              State::countdown,
                              State::asked,
                              State::unanswered,
                              State::refused,
                              State::fault}) {
        Scene scene(state);
        INFO(text_of(state));
        CHECK(lock_held(scene));
        const std::size_t stuck = scene.noted(Why::stuck);
        scene.going_down(true);
        CHECK_FALSE(lock_held(scene));
        CHECK(scene.noted(Why::stuck) == stuck + (state == State::stuck ? 1 : 0));
    }
}

TEST_CASE("pressed when the machine goes down, the inhibitor waits for the settled release",
          "[rules]") {
    for (const State state : {State::holding, State::ready}) {
        Scene scene(state);
        scene.going_down(true);
        CHECK(lock_held(scene));
        scene.pass(2s);
        scene.blip();
        CHECK(lock_held(scene));
        scene.release();
        CHECK_FALSE(lock_held(scene));
    }
}

TEST_CASE("a finger that stays does not hold the machine for ever", "[rules]") {
    Scene scene(State::holding);
    scene.going_down(true);
    scene.pass(30s);
    CHECK_FALSE(lock_held(scene));
    CHECK(scene.state() == State::leaving);
}

TEST_CASE("a reboot is not held back by the button", "[rules]") {
    Scene scene(State::holding);
    scene.going_down(true, GoingDownKind::reboot);
    CHECK_FALSE(lock_held(scene));
}

TEST_CASE("a shutdown that is not to be has the inhibitor taken again", "[rules]") {
    Scene scene(State::asked);
    scene.going_down(true);
    REQUIRE_FALSE(lock_held(scene));
    scene.going_down(false);
    CHECK(lock_held(scene));
    Scene refused(State::leaving);
    refused.answer(AnswerKind::refused);
    CHECK_FALSE(lock_held(refused));
    refused.preparing(BeingPrepared::no);
    CHECK(lock_held(refused));
}

// --- the line
// ----------------------------------------------------------------------------------------

TEST_CASE("a line that is not available is tried again with back-off, never in a busy loop",
          "[rules]") {
    Scene scene(State::fault);
    scene.pass(1h);  // nobody answers: an attempt that is under way is not made twice
    const std::size_t unanswered = scene.count<OpenLine>();
    CHECK(unanswered == 1);
    Duration waited{};
    for (int attempt = 0; attempt < 20; ++attempt) {
        const Instant begun = scene.now;
        scene.give(LineGone{scene.now});
        CHECK(scene.state() == State::fault);
        const Instant due = scene.shell.core().next_deadline();
        REQUIRE(due != never);
        CHECK(due - begun >= waited);
        CHECK(due - begun <= 1min);
        waited = due - begun;
        const std::size_t before = scene.count<OpenLine>();
        scene.pass(due - scene.now);
        CHECK(scene.count<OpenLine>() == before + 1);
    }
    CHECK(waited >= 30s);
    scene.resync();
    CHECK(scene.state() == State::waiting);
    scene.pass(1s);
    CHECK(scene.state() == State::rest);
}

TEST_CASE("a chip that may be back is tried at once", "[rules]") {
    Scene scene(State::fault);
    scene.pass(100ms);
    const std::size_t before = scene.count<OpenLine>();
    scene.give(LineMayBeBack{scene.now});
    CHECK(scene.count<OpenLine>() == before + 1);
}

TEST_CASE("edges thrown away by a Resync count towards a storm", "[rules]") {
    Scene scene(State::rest);
    for (int second = 0; second < 4 && scene.state() != State::fault; ++second) {
        scene.give(Resync{scene.now, Level::inactive, ResyncWhy::gap, 3'000});
        scene.pass(1s);
    }
    CHECK(scene.state() == State::fault);
    CHECK(scene.count<CloseLine>() == 1);
    CHECK(scene.noted(Why::line_unreadable) == 1);
}

TEST_CASE("a request under way outlives its button line", "[rules]") {
    Scene scene(State::asked);
    scene.give(LineGone{scene.now});
    CHECK(scene.state() == State::asked);
    scene.answer(AnswerKind::refused);
    pass_without_line(scene, 6s);
    CHECK(scene.state() == State::fault);  // not rest: nothing is known of the line
    CHECK(scene.asks() == 1);
}

TEST_CASE("a line pressed since the start is spoken of again only after a release", "[rules]") {
    Scene scene(State::waiting);
    scene.pass(10min);
    CHECK(scene.noted(Why::pressed_since_start) == 1);
    scene.resync();
    scene.pass(10min);
    CHECK(scene.noted(Why::pressed_since_start) == 1);
}
