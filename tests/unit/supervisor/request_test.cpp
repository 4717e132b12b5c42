// SPDX-License-Identifier: MIT
// The life of a request as the person and the journal meet it, in virtual time.
#include "support/virtual_board.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::testing;
using core::AnswerKind;
using core::BeingPrepared;
using core::CueName;
using core::GoingDownKind;

namespace {

using Events = std::vector<rehearsal::ScriptEvent>;

Events one_hold(Duration at, Duration length) {
    return {moves(at, Level::active), moves(at + length, Level::inactive)};
}

/// A hold at 1 s, and another at `again`, each of 3.2 s.
Events two_holds(Duration again) {
    Events events = one_hold(1s, 3200ms);
    const Events more = one_hold(again, 3200ms);
    events.insert(events.end(), more.begin(), more.end());
    return events;
}

/// A board that has asked: 4.23 s.
struct AskedBoard : VirtualBoard {
    explicit AskedBoard(Duration again = 300s) : VirtualBoard(two_holds(again)) { run_to(5s); }
};

}  // namespace

TEST_CASE("a request that the bus does not take is withdrawn, and a new press asks again") {
    VirtualBoard board(two_holds(60s));
    board.bus_hangs = true;
    board.run_to(34200ms);
    CHECK(board.power.withdrawn.empty());
    board.run_to(35s);
    CHECK(board.power.withdrawn == std::vector<std::uint32_t>{1});
    CHECK(board.app.cue().name == CueName::refused);
    CHECK(board.journal.has("could not be sent in 30 s: withdrawn"));
    CHECK_FALSE(board.app.may_send(1));
    board.run_to(70s);
    CHECK(board.power.asked.size() == 2);
}

TEST_CASE("a request that was accepted and led to nothing is told so, and frees the button") {
    AskedBoard board(60s);
    board.answered(AnswerKind::accepted);
    board.run_to(36s);
    REQUIRE(board.power.question > 0);
    board.prepares(BeingPrepared::no);
    CHECK(board.app.cue().name == CueName::refused);
    CHECK(board.journal.has("accepted, but nothing came of it"));
    board.run_to(70s);
    CHECK(board.power.asked.size() == 2);
}

TEST_CASE("an accepted request of which nobody says more is unanswered, and ends by itself") {
    AskedBoard board(130s);
    board.answered(AnswerKind::accepted);
    board.run_to(41s);
    CHECK(board.app.cue().state == core::State::unanswered);
    board.run_to(125s);
    CHECK(board.app.cue().name == CueName::refused);
    board.run_to(140s);
    CHECK(board.power.asked.size() == 2);
}

TEST_CASE("a request without an answer frees the button after two minutes") {
    AskedBoard board(126s);
    board.run_to(35s);
    CHECK(board.app.cue().state == core::State::unanswered);
    board.run_to(124s);
    CHECK(board.app.cue().state == core::State::unanswered);
    board.run_to(125s);
    CHECK(board.app.cue().name == CueName::refused);
    CHECK(board.journal.has("a new press may ask again"));
    board.run_to(140s);
    CHECK(board.power.asked.size() == 2);
}

TEST_CASE("the second route has five minutes, for it has nobody to ask") {
    AskedBoard board(310s);
    board.answered(AnswerKind::taken_up, "by the second route");
    board.run_to(304s);
    CHECK(board.app.cue().state == core::State::asked);
    board.run_to(305500ms);
    CHECK(board.app.cue().name == CueName::refused);
    board.run_to(320s);
    CHECK(board.power.asked.size() == 2);
}

TEST_CASE("true, false and the error: the reason is shown in whichever order they come") {
    AskedBoard error_first;
    error_first.app.going_down(true, GoingDownKind::power_off);
    error_first.answered(AnswerKind::refused, "Unit poweroff.target is masked");
    error_first.prepares(BeingPrepared::cannot_tell);
    CHECK(error_first.app.cue().name == CueName::leaving);
    error_first.app.going_down(false, GoingDownKind::unknown);
    CHECK(error_first.app.cue().name == CueName::refused);
    CHECK(error_first.journal.has("the request had failed: Unit poweroff.target is masked"));
    AskedBoard false_first;
    false_first.app.going_down(true, GoingDownKind::power_off);
    false_first.app.going_down(false, GoingDownKind::unknown);
    CHECK(false_first.app.cue().name == CueName::refused);
    false_first.run_to(8s);
    false_first.answered(AnswerKind::refused, "Unit poweroff.target is masked");
    CHECK(false_first.app.cue().name == CueName::refused);
    CHECK(false_first.journal.has("was refused: Unit poweroff.target is masked"));
    false_first.run_to(12900ms);
    CHECK(false_first.app.cue().name == CueName::refused);
    false_first.run_to(13100ms);
    CHECK(false_first.app.cue().name == CueName::rest);
    AskedBoard all_at_once;
    all_at_once.answered(AnswerKind::refused, "Unit poweroff.target is masked");
    CHECK(all_at_once.app.cue().name == CueName::refused);
}

TEST_CASE("an error while somebody else's shutdown goes on does not free the button") {
    AskedBoard board(10s);
    board.app.going_down(true, GoingDownKind::power_off);
    board.answered(AnswerKind::refused, "blocked by the tide logger: calibration");
    board.prepares(BeingPrepared::yes);
    board.run_to(20s);
    CHECK(board.app.cue().name == CueName::leaving);
    CHECK(board.power.asked.size() == 1);
}

TEST_CASE("a shutdown of which nobody tells any more is over after half an hour") {
    VirtualBoard board(one_hold(2000s, 3200ms));
    board.run_to(1s);
    board.app.going_down(true, GoingDownKind::power_off);
    const std::uint64_t woken = board.wakes;
    board.run_to(1790s);
    CHECK(board.app.cue().name == CueName::leaving);
    CHECK(board.wakes - woken < 200);
    board.run_to(1840s);
    CHECK(board.app.cue().name == CueName::rest);
    board.run_to(2010s);
    CHECK(board.power.asked.size() == 1);
}

TEST_CASE("a dry run shows that the machine goes down, then that it would be down, and rests") {
    AskedBoard board(20s);
    board.answered(AnswerKind::would_do);
    CHECK(board.app.cue().name == CueName::leaving);
    board.run_to(9900ms);
    CHECK(board.app.cue().name == CueName::leaving);
    board.run_to(10100ms);
    CHECK(board.app.cue().name == CueName::rest);
    CHECK(board.journal.has("a real machine would be down by now"));
    CHECK_FALSE(board.journal.has("refused"));
    board.run_to(30s);
    CHECK(board.power.asked.size() == 2);
}

TEST_CASE("a program calls a countdown off, and is told when there is nothing to call off") {
    struct Told final : supervisor::Follower {
        std::vector<bool> done;

        void happened(const supervisor::Event& event) override {
            if (const auto* answer = std::get_if<supervisor::CallOffAnswered>(&event.what)) {
                done.push_back(answer->done);
            }
        }
    } told;

    config::Settings settings = pontoon_settings();
    settings.core.grace = 5s;
    VirtualBoard board(settings, one_hold(1s, 3200ms), Level::inactive, {{&told}});
    board.run_to(6s);
    board.app.call_off();
    CHECK(board.app.cue().name == CueName::rest);
    board.run_to(30s);
    CHECK(board.power.asked.empty());
    board.app.call_off();
    CHECK(told.done == std::vector{true, false});
}

TEST_CASE("the press that woke the board is none, whichever input comes first") {
    for (const int first : {0, 1, 2}) {
        VirtualBoard board(one_hold(1s, 3200ms));
        board.run_to(900ms);
        board.clock.time = board.line.start() + 10s;
        board.clock.asleep = 3600s;
        board.line.play();
        switch (first) {
        case 0:
            board.app.login_manager(true);
            break;
        case 1:
            board.app.chips_changed();
            break;
        default:
            board.app.answered(0, AnswerKind::refused, {});
            break;
        }
        board.run_to(30s);
        CHECK(board.power.asked.empty());
    }
}

TEST_CASE("what an answer says is told with that answer, whatever else was said meanwhile") {
    AskedBoard board;
    board.answered(AnswerKind::refused, "blocked by the tide logger: calibration");
    board.run_to(12s);
    board.answered(AnswerKind::refused, "too late to matter");
    CHECK(board.app.cue().name == CueName::rest);
    CHECK(board.journal.count("calibration") == 1);
    CHECK(board.journal.has("a request that is over: too late to matter"));
}
