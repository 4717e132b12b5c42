// SPDX-License-Identifier: MIT
// What the words around the state table add to its cells.
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
    Scene scene(State::unanswered);
    scene.press();
    scene.going_down(false);
    CHECK(scene.state() == State::waiting);
    scene.release();
    CHECK(scene.state() == State::rest);
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

TEST_CASE("an alarm counts down like a press, but does not wait for a press's countdown",
          "[rules]") {
    Scene alone(with_grace(5s), Level::inactive);
    alone.alarm();
    CHECK(alone.state() == State::countdown);
    alone.pass(5s);
    CHECK(alone.state() == State::asked);
    Scene second(State::countdown);
    second.alarm();
    CHECK(second.state() == State::asked);
    CHECK(second.last_ask().alarm == 0);
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

TEST_CASE("a press too soon after the release does not call off, one half a second later does",
          "[rules]") {
    for (const Duration pause : {499ms, 500ms}) {
        Scene scene(with_grace(5s), Level::inactive);
        scene.hold(4s);  // settled 30 ms after the release
        scene.pass(pause - 30ms);
        scene.hold(200ms);
        CHECK((scene.state() == State::countdown) == (pause < 500ms));
        scene.pass(1min);
        CHECK(scene.asks() == (pause < 500ms ? 1 : 0));
        CHECK(scene.noted(Why::called_off) == (pause < 500ms ? 0 : 1));
    }
}

TEST_CASE("a press held for less than a tenth of a second does not call off", "[rules]") {
    for (const Duration held : {99ms, 100ms}) {
        Scene scene(State::countdown);
        scene.pass(1s);
        scene.hold(held);
        CHECK((scene.state() == State::countdown) == (held < 100ms));
    }
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
        CHECK(scene.state() == State::waiting);
        scene.release();
        scene.pass(1min);
        CHECK(scene.asks() == 0);
        CHECK(scene.state() == State::rest);
    }
}

// --- the request's life
// ----------------------------------------------------------------------------

TEST_CASE("an accepted request without a shutdown within 30 s is unanswered, with one it leaves",
          "[rules]") {
    Scene nothing(State::asked);
    nothing.pass(20s);
    nothing.answer(AnswerKind::accepted);
    nothing.pass(30s - 1ms);
    CHECK(nothing.state() == State::asked);
    nothing.pass(1ms);
    CHECK(nothing.state() == State::unanswered);
    Scene leaves(State::asked);
    leaves.answer(AnswerKind::accepted);
    leaves.pass(20s);
    leaves.going_down(true);
    leaves.pass(1h);
    CHECK(leaves.state() == State::leaving);
    CHECK(leaves.asks() == 1);
}

TEST_CASE("the signal may come before the reply", "[rules]") {
    Scene accepted(State::asked);
    accepted.going_down(true);
    accepted.answer(AnswerKind::accepted);
    CHECK(accepted.state() == State::leaving);
    Scene failed(State::asked);
    failed.going_down(true);
    failed.going_down(false);
    failed.answer(AnswerKind::refused);
    CHECK(failed.asks() == 1);
    failed.pass(10s);
    CHECK(failed.state() == State::rest);
    failed.hold(4s);  // that request has failed for certain: the next press counts
    CHECK(failed.asks() == 2);
}

TEST_CASE("no answer is not a refusal: it may still act minutes later", "[rules]") {
    Scene scene(State::unanswered);
    scene.hold(4s);
    scene.pass(10min);
    scene.hold(4s);
    CHECK(scene.asks() == 1);
    CHECK(scene.state() == State::unanswered);
    scene.answer(AnswerKind::accepted);
    CHECK(scene.state() == State::leaving);
}

TEST_CASE("a reply that comes before the request has left is not this request's", "[rules]") {
    Scene scene(State::rest);
    scene.press();
    scene.pass(4s);
    scene.shell.feed(Sample{scene.now, Level::inactive});
    scene.now += 1s;
    scene.shell.feed(Sample{scene.now, Level::inactive});  // the release settled before this
    REQUIRE(scene.state() == State::asked);
    REQUIRE(scene.asks() == 0);
    scene.shell.feed(Answer{scene.now, AnswerKind::refused});
    scene.shell.wake(scene.now);
    CHECK(scene.state() == State::asked);
    CHECK(scene.asks() == 1);
}

TEST_CASE("a loop so late that patience ended before the request left can still drop it",
          "[rules]") {
    Scene scene(State::rest);
    scene.press();
    scene.pass(4s);
    scene.shell.feed(Sample{scene.now, Level::inactive});
    scene.now += 1min;
    scene.shell.feed(Sample{scene.now, Level::inactive});
    scene.shell.true_level = [](Instant) { return Level::active; };
    scene.shell.wake(scene.now);  // the read does not confirm it
    CHECK(scene.asks() == 0);
    CHECK(scene.state() == State::waiting);
}

TEST_CASE("a login manager that goes while asked leaves the request open; back, it has failed",
          "[rules]") {
    Scene scene(State::asked);
    scene.login_manager(false);
    CHECK(scene.state() == State::unanswered);
    scene.hold(4s);
    CHECK(scene.asks() == 1);
    scene.login_manager(true);
    CHECK(scene.state() == State::refused);
    scene.pass(5s);
    CHECK(scene.state() == State::rest);
    scene.hold(4s);
    CHECK(scene.asks() == 2);
}

TEST_CASE("a login manager that comes back preparing a shutdown leads to leaving", "[rules]") {
    Scene scene(State::asked);
    scene.login_manager(false);
    scene.login_manager(true, true);
    CHECK(scene.state() == State::leaving);
    CHECK(scene.asks() == 1);
}

TEST_CASE("an accepted request has failed when the login manager comes back anew, not preparing",
          "[rules]") {
    Scene scene(State::asked);
    scene.answer(AnswerKind::accepted);
    scene.going_down(true);
    scene.login_manager(false);
    CHECK(scene.state() == State::leaving);
    scene.login_manager(true);
    CHECK(scene.state() == State::refused);
}

TEST_CASE("a login manager that comes and goes asks for nothing", "[rules]") {
    for (const State state : {State::waiting,
                              State::rest,
                              State::holding,
                              State::ready,
                              State::stuck,
                              State::countdown,
                              State::refused,
                              State::fault}) {
        Scene scene(state);
        const std::size_t asked = scene.asks();
        scene.login_manager(false);
        scene.login_manager(true);
        CHECK(scene.state() == state);
        CHECK(scene.asks() == asked);
    }
}

TEST_CASE("a shutdown under way at start is known, whatever the line does then", "[rules]") {
    Shell shell(Scene::table_settings());
    const Instant start{1000s};
    shell.feed(GoingDown{start, true, GoingDownKind::unknown});
    shell.feed(Resync{start, Level::inactive, ResyncWhy::start, 0});
    shell.wake(start);
    CHECK(shell.core().state() == State::leaving);
    shell.sample(start + 1s, Level::active);
    shell.sample(start + 5s, Level::inactive);
    shell.wait(start + 1h);
    CHECK(asks_in(shell.left()) == 0);
    CHECK(shell.core().state() == State::leaving);
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
        scene.going_down(true);
        CHECK_FALSE(lock_held(scene));
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
    CHECK(lock_held(refused));
}

// --- the line
// ----------------------------------------------------------------------------------------

TEST_CASE("a line that cannot be had is tried again with back-off, never in a busy loop",
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

TEST_CASE("a floating line is let go and asked for again later", "[rules]") {
    Scene scene(State::rest);
    scene.storm();
    CHECK(scene.state() == State::fault);
    CHECK(scene.count<CloseLine>() == 1);
    CHECK(scene.noted(Why::line_storm) == 1);
    scene.pass(2s);
    CHECK(scene.count<OpenLine>() == 1);
}

TEST_CASE("a lively but possible line is not taken for a floating one", "[rules]") {
    Scene scene(State::rest);
    for (int edges = 0; edges < 20'000; ++edges) {  // 2,000 a second are not yet too many
        scene.level = !scene.level;
        scene.shell.sample(scene.now, scene.level);
        scene.pass(500us);
    }
    CHECK(scene.count<CloseLine>() == 0);
}

TEST_CASE("edges thrown away by a Resync count towards a storm", "[rules]") {
    Scene scene(State::rest);
    for (int second = 0; second < 4 && scene.state() != State::fault; ++second) {
        scene.give(Resync{scene.now, Level::inactive, ResyncWhy::gap, 3'000});
        scene.pass(1s);
    }
    CHECK(scene.state() == State::fault);
    CHECK(scene.count<CloseLine>() == 1);
}

TEST_CASE("a request under way outlives its button line", "[rules]") {
    Scene scene(State::asked);
    scene.give(LineGone{scene.now});
    CHECK(scene.state() == State::asked);
    scene.answer(AnswerKind::refused);
    for (std::size_t attempts = 0, step = 0; step < 60; ++step) {
        scene.pass(100ms);
        if (scene.count<OpenLine>() > attempts) {
            attempts = scene.count<OpenLine>();
            scene.give(LineGone{scene.now});
        }
    }
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
