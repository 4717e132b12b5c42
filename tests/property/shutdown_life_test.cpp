// SPDX-License-Identifier: MIT
// A shutdown's life, ours or somebody else's: the second route, questions, leaving, dry runs.
#include "base/duration_text.hpp"
#include "property/request_scenes.hpp"

#include <algorithm>
#include <array>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::core;
using namespace nightlatch::test;

TEST_CASE("what the second route took up is not ended by a login manager that says nothing",
          "[life]") {
    Scene scene(State::asked);
    scene.answer(AnswerKind::taken_up);
    scene.pass(1min);
    CHECK(scene.state() == State::asked);
    scene.going_down(true);
    CHECK(scene.state() == State::leaving);
}

// --- the login manager comes and goes

TEST_CASE("a login manager that goes while a sent request is asked leaves it open", "[life]") {
    Scene scene(State::asked);
    scene.login_manager(false);
    CHECK(scene.state() == State::unanswered);
    scene.hold(4s);
    CHECK(scene.asks() == 1);
    scene.login_manager(true);
    CHECK(scene.state() == State::unanswered);
    scene.preparing(BeingPrepared::no);
    CHECK(scene.state() == State::refused);
    scene.pass(5s);
    CHECK(scene.state() == State::rest);
    check_next_press_asks(scene);
}

TEST_CASE("a login manager that goes does not touch a request that is not sent", "[life]") {
    Scene scene = unsent();
    scene.login_manager(false);
    CHECK(scene.state() == State::asked);
    scene.login_manager(true);
    scene.preparing(BeingPrepared::no);
    CHECK(scene.state() == State::asked);
    CHECK(scene.shell.core().may_send(1));
    scene.give(Answer{scene.now, AnswerKind::sent, 1});
    CHECK(scene.state() == State::asked);
    CHECK(scene.count<Withdraw>() == 0);
}

TEST_CASE("a new login manager that is preparing a shutdown leads to leaving", "[life]") {
    for (const bool sent : {true, false}) {
        Scene scene = sent ? Scene(State::asked) : unsent();
        scene.login_manager(false);
        scene.login_manager(true);
        scene.preparing(BeingPrepared::yes);
        CHECK(scene.state() == State::leaving);
        CHECK(scene.count<Withdraw>() == (sent ? 0 : 1));
        CHECK(scene.asks() == 1);
    }
}

TEST_CASE("what was asked before the request was sent says nothing about it", "[life]") {
    Scene scene(State::rest);
    scene.login_manager(true);
    scene.hold(4s);  // the question is still open
    REQUIRE(scene.state() == State::asked);
    scene.preparing(BeingPrepared::no);
    CHECK(scene.state() == State::asked);
}

TEST_CASE("an accepted request has failed when the login manager comes back anew, not preparing",
          "[life]") {
    Scene asked_before = accepted();
    asked_before.login_manager(false);
    asked_before.login_manager(true);
    asked_before.preparing(BeingPrepared::no);
    CHECK(asked_before.state() == State::refused);
    Scene leaving = own_leaving();
    leaving.login_manager(false);
    CHECK(leaving.state() == State::leaving);
    leaving.login_manager(true);
    leaving.preparing(BeingPrepared::no);
    CHECK(leaving.state() == State::refused);
}

TEST_CASE("a login manager that comes and goes asks for nothing", "[life]") {
    for (const BeingPrepared told : {BeingPrepared::no, BeingPrepared::cannot_tell}) {
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
            CHECK(scene.count<AskPreparing>() == 0);
            scene.login_manager(true);
            CHECK(scene.count<AskPreparing>() == 1);
            scene.preparing(told);
            CHECK(scene.state() == state);
            CHECK(scene.asks() == asked);
        }
    }
}

TEST_CASE("a shutdown that a new login manager prepares is one in every state", "[life]") {
    for (std::size_t i = 0; i < state_count; ++i) {
        Scene scene(static_cast<State>(i));
        scene.login_manager(false);
        scene.login_manager(true);
        scene.preparing(BeingPrepared::yes);
        INFO(text_of(static_cast<State>(i)));
        CHECK(scene.state() == State::leaving);
    }
}

TEST_CASE("an earlier question is void", "[life]") {
    Scene scene(State::rest);
    scene.login_manager(true);
    const std::uint32_t first = scene.last<AskPreparing>().question;
    scene.login_manager(true);
    scene.give(Preparing{scene.now, first, BeingPrepared::yes});
    CHECK(scene.state() == State::rest);
    scene.preparing(BeingPrepared::yes);
    CHECK(scene.state() == State::leaving);
}

TEST_CASE("a shutdown under way at start is known, whatever the line does then", "[life]") {
    Shell shell(Scene::table_settings());
    shell.preparing = BeingPrepared::yes;
    const Instant start{1000s};
    shell.feed(LoginManager{start, true});
    shell.feed(Resync{start, Level::inactive, ResyncWhy::start, 0});
    shell.wake(start);
    CHECK(shell.core().state() == State::leaving);
    shell.sample(start + 1s, Level::active);
    shell.sample(start + 5s, Level::inactive);
    shell.wait(start + 1h);
    CHECK(asks_in(shell.left()) == 0);
    CHECK(shell.core().state() == State::leaving);
}

// --- leaving

TEST_CASE("while leaving it is asked every 30 s whether it still is, and no counts as false",
          "[life]") {
    Scene scene(State::rest);
    scene.going_down(true);
    for (std::size_t asked = 1; asked <= 10; ++asked) {
        scene.pass(30s - 1ms);
        CHECK(scene.count<AskPreparing>() == asked - 1);
        scene.pass(1ms);
        REQUIRE(scene.count<AskPreparing>() == asked);
        scene.preparing(BeingPrepared::yes);
        CHECK(scene.state() == State::leaving);
    }
    scene.pass(30s);
    scene.preparing(BeingPrepared::no);
    CHECK(scene.state() == State::rest);
    Scene own = own_leaving();
    own.pass(30s);
    own.preparing(BeingPrepared::no);
    CHECK(own.state() == State::refused);
    own.pass(5s);
    check_next_press_asks(own);
}

TEST_CASE("if in leaving it cannot be told for 30 min that counts as false", "[life]") {
    for (const bool answers : {true, false}) {
        Scene scene(State::rest);
        if (answers) {
            scene.shell.preparing = BeingPrepared::cannot_tell;
        }
        scene.going_down(true);
        scene.pass(30min - 1s);
        CHECK(scene.state() == State::leaving);
        scene.pass(1min);
        CHECK(scene.state() == State::rest);
        check_next_press_asks(scene);
    }
    Scene known(State::rest);
    known.shell.preparing = BeingPrepared::cannot_tell;
    known.going_down(true);
    known.pass(29min);
    known.shell.preparing = BeingPrepared::yes;
    known.pass(1min);
    known.shell.preparing = BeingPrepared::cannot_tell;
    known.pass(29min);
    CHECK(known.state() == State::leaving);
    known.pass(2min);
    CHECK(known.state() == State::rest);
}

TEST_CASE("an error while leaving: preparing or not to be told it is traced, else a refusal",
          "[life]") {
    for (const BeingPrepared told :
         {BeingPrepared::yes, BeingPrepared::no, BeingPrepared::cannot_tell}) {
        Scene scene(State::asked);
        scene.going_down(true);
        scene.answer(AnswerKind::refused);
        CHECK(scene.state() == State::leaving);
        REQUIRE(scene.count<AskPreparing>() == 1);
        scene.preparing(told);
        CHECK(scene.state() == (told == BeingPrepared::no ? State::refused : State::leaving));
        scene.going_down(false);
        CHECK(scene.state() == State::refused);
        scene.pass(5s);
        check_next_press_asks(scene);
    }
}

TEST_CASE("somebody else's shutdown that is given up is not a refusal of ours", "[life]") {
    Scene scene(State::rest);
    scene.going_down(true);
    scene.going_down(false);
    CHECK(scene.state() == State::rest);
    CHECK(scene.noted(Why::request_refused) == 0);
}

TEST_CASE("what was refused before somebody else's shutdown is not refused again by it", "[life]") {
    Scene scene(State::refused);
    scene.going_down(true);
    scene.going_down(false);
    CHECK(scene.state() == State::rest);
}

// --- dry runs

TEST_CASE("a dry run shows leaving for 5 s and ends at rest", "[life]") {
    Scene scene = dry();
    CHECK(scene.state() == State::leaving);
    scene.pass(5s - 1ms);
    CHECK(scene.state() == State::leaving);
    scene.pass(1ms);
    CHECK(scene.state() == State::rest);
    CHECK(scene.noted(Why::dry_over) == 1);
    check_next_press_asks(scene);
}

TEST_CASE("a real shutdown meanwhile counts as in a real run", "[life]") {
    Scene scene = dry();
    scene.going_down(true);
    scene.pass(20s);
    CHECK(scene.state() == State::leaving);
    scene.going_down(false);
    CHECK(scene.state() == State::rest);
    check_next_press_asks(scene);
}

TEST_CASE("a real shutdown that came before the dry run's answer stays one", "[life]") {
    Scene scene(State::asked);
    scene.going_down(true);
    scene.answer(AnswerKind::would_do);
    scene.pass(20s);
    CHECK(scene.state() == State::leaving);
    CHECK(scene.noted(Why::dry_over) == 0);
    scene.going_down(false);
    CHECK(scene.state() == State::rest);  // nothing of ours was asked
}

TEST_CASE("a press during a dry run is spent", "[life]") {
    Scene scene = dry();
    scene.press();
    scene.pass(6s);
    CHECK(scene.state() == State::waiting);
    scene.release();
    CHECK(scene.asks() == 1);
    check_next_press_asks(scene);
}

// --- a late loop

TEST_CASE("a reply that comes before the request has left is not this request's", "[life]") {
    for (const std::uint32_t number : {0U, 1U}) {  // an earlier one's, and its own
        Scene scene(State::rest);
        scene.press();
        scene.pass(4s);
        scene.shell.feed(Sample{scene.now, Level::inactive});
        scene.now += 1s;
        scene.shell.feed(Sample{scene.now, Level::inactive});  // the release settled before this
        REQUIRE(scene.state() == State::asked);
        REQUIRE(scene.asks() == 0);
        scene.shell.feed(Answer{scene.now, AnswerKind::refused, number});
        scene.shell.wake(scene.now);
        CHECK(scene.state() == State::asked);
        CHECK(scene.asks() == 1);
    }
}

TEST_CASE("a loop so late that patience ended before the request left can still drop it",
          "[life]") {
    Scene scene(State::rest);
    scene.press();
    scene.pass(4s);
    scene.shell.feed(Sample{scene.now, Level::inactive});
    scene.now += 1min;
    scene.shell.feed(Sample{scene.now, Level::inactive});
    scene.shell.true_level = [](Instant) { return Level::active; };
    scene.shell.wake(scene.now);  // the read does not confirm it
    scene.pass(100ms);
    CHECK(scene.asks() == 0);
    CHECK(scene.state() == State::waiting);
}

TEST_CASE("a request that never left does not outlive a shutdown that was given up", "[life]") {
    // The loop stands still for 40 s in which the hold was let go, and then hears that a shutdown
    // is not to be. Nothing may be outstanding twice.
    Scene scene(State::rest);
    scene.press();
    scene.pass(4s);
    const Instant let_go = scene.now;
    scene.now += 40s;
    scene.shell.feed(Sample{let_go, Level::inactive});
    scene.shell.feed(Sample{scene.now, Level::inactive});
    scene.give(GoingDown{scene.now, false});
    scene.pass(6s);
    const std::size_t before = scene.asks();
    CHECK(before <= 1);
    if (scene.state() == State::rest) {
        for (const Left& left : scene.shell.left()) {
            if (const auto* ask = std::get_if<Ask>(&left.action)) {
                CHECK_FALSE(scene.shell.core().may_send(ask->number));
            }
        }
        check_next_press_asks(scene);
    } else {
        scene.hold(4s);
        CHECK(scene.asks() == before);
    }
}

TEST_CASE("a press that settled before the answer came is spent, however late the loop is",
          "[life]") {
    for (const bool late : {false, true}) {
        Scene scene(State::asked);
        scene.shell.feed(Sample{scene.now, Level::active});
        const Instant heard = scene.now + 50ms;  // it settles at 30 ms
        if (!late) {
            scene.pass(30ms);
        }
        scene.now = heard;
        scene.give(Answer{heard, AnswerKind::refused, scene.last_ask().number});
        scene.pass(4s);
        scene.shell.sample(scene.now, Level::inactive);
        scene.pass(1s);
        INFO(text_of(scene.shell.notes()));
        CHECK(scene.asks() == 1);
    }
}
