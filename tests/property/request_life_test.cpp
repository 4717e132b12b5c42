// SPDX-License-Identifier: MIT
// A request's life: how it ends, whatever comes or does not come, and who may ask again when.
#include "base/duration_text.hpp"
#include "property/request_scenes.hpp"

#include <algorithm>
#include <array>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::core;
using namespace nightlatch::test;

// --- sent, or not

TEST_CASE("a request that is not sent within 30 s is withdrawn, and may not be sent any more",
          "[life]") {
    Scene scene = unsent();
    const std::uint32_t number = scene.last_ask().number;
    CHECK(scene.shell.core().may_send(number));
    scene.pass(30s - 1ms);
    CHECK(scene.shell.core().may_send(number));
    CHECK(scene.count<Withdraw>() == 0);
    scene.pass(1ms);
    CHECK(scene.state() == State::refused);
    CHECK(scene.last<Withdraw>().number == number);
    CHECK_FALSE(scene.shell.core().may_send(number));
    CHECK(scene.noted(Why::not_sent) == 1);
    scene.give(Answer{scene.now, AnswerKind::sent, number});
    CHECK(scene.state() == State::refused);
    check_next_press_asks(scene);
}

TEST_CASE("a shutdown by somebody else withdraws a request that is not sent", "[life]") {
    Scene scene = unsent();
    scene.going_down(true);
    CHECK(scene.count<Withdraw>() == 1);
    CHECK(scene.state() == State::leaving);
    Scene sent(State::asked);
    sent.going_down(true);
    CHECK(sent.count<Withdraw>() == 0);
}

TEST_CASE("the line's trouble takes back a press's request that is not sent, and no other",
          "[life]") {
    Scene gone = unsent();
    gone.give(LineGone{gone.now});
    CHECK(gone.count<Withdraw>() == 1);
    Scene anew = unsent();
    anew.resync();
    CHECK(anew.count<Withdraw>() == 1);
    Scene floating = unsent();
    floating.storm();
    CHECK(floating.count<Withdraw>() == 1);
    Scene reloaded = unsent();
    reloaded.give(
        NewSettings{reloaded.now, std::make_shared<const Settings>(Scene::table_settings())});
    reloaded.resync();
    CHECK(reloaded.count<Withdraw>() == 1);
    CHECK(reloaded.state() == State::waiting);
}

// --- answers in any order

TEST_CASE("the signal may come before the reply", "[life]") {
    Scene scene(State::asked);
    scene.going_down(true);
    scene.answer(AnswerKind::accepted);
    CHECK(scene.state() == State::leaving);
    scene.pass(5min);
    CHECK(scene.state() == State::leaving);
    CHECK(scene.asks() == 1);
}

TEST_CASE("true, false and the error in any order end in a refusal with its reason", "[life]") {
    enum class Comes : unsigned char { up, down, error };
    std::array<Comes, 3> order{Comes::up, Comes::down, Comes::error};
    do {
        Scene scene(State::asked);
        scene.shell.preparing = BeingPrepared::no;
        const std::uint32_t number = scene.last_ask().number;
        bool going = false;
        for (const Comes comes : order) {
            switch (comes) {
            case Comes::up:
                going = true;
                scene.shell.preparing = BeingPrepared::yes;
                scene.going_down(true);
                break;
            case Comes::down:
                going = false;
                scene.shell.preparing = BeingPrepared::no;
                scene.going_down(false);
                break;
            case Comes::error:
                scene.give(Answer{scene.now, AnswerKind::refused, number, 77});
                break;
            }
            scene.pass(10ms);
        }
        INFO(text_of(scene.shell.notes()));
        if (going) {  // false came first: that request is over, and this is another shutdown
            CHECK(scene.state() == State::leaving);
            scene.shell.preparing = BeingPrepared::no;
            scene.going_down(false);
        }
        const auto& notes = scene.shell.notes();
        CHECK(std::any_of(notes.begin(), notes.end(), [](const Note& n) { return n.index == 77; }));
        CHECK(std::any_of(
            notes.begin(), notes.end(), [](const Note& n) { return n.to == State::refused; }));
        scene.pass(6s);
        CHECK(scene.state() == State::rest);
        check_next_press_asks(scene);
    } while (std::next_permutation(order.begin(), order.end()));
}

TEST_CASE("the reason that comes after the refusal is shown for its five seconds", "[life]") {
    Scene scene(State::asked);
    scene.going_down(true);
    scene.going_down(false);
    REQUIRE(scene.state() == State::refused);
    scene.pass(4s);
    scene.answer(AnswerKind::refused);
    CHECK(scene.state() == State::refused);
    scene.pass(5s - 1ms);
    CHECK(scene.state() == State::refused);
    scene.pass(1ms);
    CHECK(scene.state() == State::rest);
}

TEST_CASE("an answer to a request that is over changes no state, and is told", "[life]") {
    for (const AnswerKind kind : {AnswerKind::sent,
                                  AnswerKind::accepted,
                                  AnswerKind::taken_up,
                                  AnswerKind::refused,
                                  AnswerKind::would_do}) {
        Scene scene(State::unanswered);
        const std::uint32_t first = scene.last_ask().number;
        scene.pass(90s);
        REQUIRE(scene.state() == State::refused);
        scene.hold(4s);
        REQUIRE(scene.asks() == 2);
        const std::size_t notes = scene.shell.notes().size();
        scene.give(Answer{scene.now, kind, first});
        INFO(static_cast<int>(kind));
        CHECK(scene.state() == State::asked);
        CHECK(scene.shell.notes().size() == notes + 1);
        scene.hold(4s);  // asked: spent
        CHECK(scene.asks() == 2);
        scene.answer(AnswerKind::refused);
        CHECK(scene.state() == State::refused);
    }
}

TEST_CASE("an answer to a request that never was changes nothing", "[life]") {
    for (const State state : {State::rest, State::asked, State::unanswered, State::leaving}) {
        Scene scene(state);
        scene.give(Answer{scene.now, AnswerKind::refused, 99});
        scene.give(Answer{scene.now, AnswerKind::accepted, 99});
        scene.give(Answer{scene.now, AnswerKind::would_do, 99});
        CHECK(scene.state() == state);
    }
}

// --- accepted, and nothing came

TEST_CASE("an accepted request of which nothing comes for 30 s: yes leaves, no is a refusal",
          "[life]") {
    for (const BeingPrepared told :
         {BeingPrepared::yes, BeingPrepared::no, BeingPrepared::cannot_tell}) {
        Scene scene(State::asked);
        scene.pass(20s);
        scene.answer(AnswerKind::accepted);  // 30 s anew
        scene.pass(30s - 1ms);
        CHECK(scene.count<AskPreparing>() == 0);
        scene.pass(1ms);
        CHECK(scene.count<AskPreparing>() == 1);
        CHECK(scene.state() == State::asked);
        scene.pass(1s);
        scene.preparing(told);
        CHECK(scene.state() == (told == BeingPrepared::yes  ? State::leaving
                                : told == BeingPrepared::no ? State::refused
                                                            : State::unanswered));
        CHECK(scene.noted(Why::nothing_came) == (told == BeingPrepared::no ? 1 : 0));
        CHECK(scene.asks() == 1);
        scene.shell.preparing = BeingPrepared::no;
        scene.pass(2min);
        CHECK(scene.state() == State::rest);
        check_next_press_asks(scene);
    }
}

TEST_CASE("a question that is not answered within 5 s means that it cannot be told", "[life]") {
    Scene scene = accepted();
    scene.pass(30s);
    scene.pass(5s - 1ms);
    CHECK(scene.state() == State::asked);
    scene.pass(1ms);
    CHECK(scene.state() == State::unanswered);
    scene.preparing(BeingPrepared::no);  // too late for its question
    CHECK(scene.state() == State::unanswered);
}

TEST_CASE("told as sent once more, after the question was put, an accepted request still ends",
          "[life]") {
    Scene scene = accepted();
    scene.pass(30s);
    REQUIRE(scene.count<AskPreparing>() == 1);
    scene.answer(AnswerKind::sent);
    scene.preparing(BeingPrepared::no);
    CHECK(scene.state() == State::refused);
    scene.pass(5s);
    check_next_press_asks(scene);
}

TEST_CASE("a question from before a request does not end one accepted before it was told as sent",
          "[life]") {
    Scene scene(State::rest);
    scene.shell.preparing.reset();
    scene.shell.sends = false;
    scene.give(LoginManager{scene.now, true});
    REQUIRE(scene.count<AskPreparing>() == 1);
    scene.hold(4s);
    scene.pass(500ms);
    scene.answer(AnswerKind::accepted);
    REQUIRE(scene.state() == State::asked);
    scene.preparing(BeingPrepared::no);
    CHECK(scene.state() == State::asked);
}

TEST_CASE("a second acceptance, after the request was unanswered, counts", "[life]") {
    Scene scene(State::unanswered);
    scene.answer(AnswerKind::accepted);
    CHECK(scene.state() == State::asked);
    scene.pass(30s);
    scene.preparing(BeingPrepared::no);
    CHECK(scene.state() == State::refused);
    scene.pass(5s);
    check_next_press_asks(scene);
}

// --- unanswered

TEST_CASE("no answer is not a refusal: only after two minutes may a new press ask", "[life]") {
    Scene scene(State::unanswered);  // asked for 30 s ago
    scene.hold(4s);
    CHECK(scene.asks() == 1);
    scene.pass(90s - 4030ms - 1ms);
    CHECK(scene.state() == State::unanswered);
    scene.pass(1ms);
    CHECK(scene.state() == State::refused);
    CHECK(scene.noted(Why::given_up) == 1);
    check_next_press_asks(scene);
}

TEST_CASE("unanswered lasts for 30 s at least, however long ago it was asked", "[life]") {
    Scene scene(State::asked);
    scene.pass(29s);
    scene.answer(AnswerKind::accepted);  // 29 s
    scene.pass(35s);                     // cannot tell
    REQUIRE(scene.state() == State::unanswered);
    scene.pass(20s);
    scene.answer(AnswerKind::accepted);  // 84 s
    scene.pass(35s);
    REQUIRE(scene.state() == State::unanswered);  // 119 s
    scene.pass(30s - 1ms);
    CHECK(scene.state() == State::unanswered);
    scene.pass(1ms);
    CHECK(scene.state() == State::refused);
}

TEST_CASE("a shutdown that is prepared while nobody answered is taken for one", "[life]") {
    Scene scene(State::unanswered);
    scene.going_down(true);
    CHECK(scene.state() == State::leaving);
    scene.going_down(false);
    CHECK(scene.state() == State::refused);
    scene.pass(5s);
    check_next_press_asks(scene);
}

TEST_CASE("a shutdown given up ends a request that nobody answered", "[life]") {
    Scene scene(State::unanswered);
    scene.going_down(false);
    CHECK(scene.state() == State::refused);
    scene.pass(5s);
    check_next_press_asks(scene);
}

// --- the second route

TEST_CASE("what the second route took up is asked for 5 min, and then refused", "[life]") {
    Scene scene(State::asked);
    scene.pass(10s);
    scene.answer(AnswerKind::taken_up);
    scene.pass(5min - 1ms);
    CHECK(scene.state() == State::asked);
    CHECK(scene.count<AskPreparing>() == 0);
    scene.pass(1ms);
    CHECK(scene.state() == State::refused);
    scene.pass(5s);
    check_next_press_asks(scene);
}
