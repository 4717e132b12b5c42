// SPDX-License-Identifier: MIT
// The whole program on a simulated chip, in virtual time.
#include "support/virtual_board.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::testing;
using core::CueName;

namespace {

std::vector<rehearsal::ScriptEvent> press(Duration at, Duration length) {
    return {moves(at, Level::active), moves(at + length, Level::inactive)};
}

std::vector<rehearsal::ScriptEvent> operator+(std::vector<rehearsal::ScriptEvent> all,
                                              const std::vector<rehearsal::ScriptEvent>& more) {
    all.insert(all.end(), more.begin(), more.end());
    return all;
}

}  // namespace

TEST_CASE("a button held and released asks once for power-off, after the release") {
    VirtualBoard board(press(1s, 3200ms));
    board.run_to(4100ms);
    CHECK(board.power.asked.empty());
    board.run_to(10s);
    CHECK(board.power.asked == std::vector{core::Action::power_off});
    CHECK(board.cues.shown ==
          std::vector{
              CueName::waiting, CueName::rest, CueName::holding, CueName::ready, CueName::leaving});
    CHECK(board.journal.has("let go after 3.200 s: stage \"off\", power-off"));
}

TEST_CASE("a button let go too early is a near miss and says so") {
    VirtualBoard board(press(1s, 2999ms));
    board.run_to(10s);
    CHECK(board.power.asked.empty());
    CHECK(board.journal.has("let go after 2.999 s: nothing happens"));
    CHECK(board.app.cue().name == CueName::rest);
}

TEST_CASE("a button held from power-on does nothing until it was released; then a press works") {
    auto events = std::vector{moves(20s, Level::inactive)} + press(25s, 3500ms);
    VirtualBoard board(pontoon_settings(), events, Level::active);
    board.run_to(24s);
    CHECK(board.power.asked.empty());
    board.run_to(40s);
    CHECK(board.power.asked.size() == 1);
}

TEST_CASE("a line that reads pressed for ever says once what that usually means") {
    VirtualBoard board(pontoon_settings(), {}, Level::active);
    board.run_to(29s);
    CHECK(board.journal.count("usually the button is stuck") == 0);
    board.run_to(3600s);
    CHECK(board.journal.count("usually the button is stuck") == 1);
    CHECK(board.journal.has("status line tapped from a latched node"));
    CHECK(board.power.asked.empty());
}

TEST_CASE("at rest nothing wakes the service") {
    VirtualBoard board(press(1s, 100ms));
    board.run_to(5s);
    const auto before = board.wakes;
    board.run_to(86'400s);
    CHECK(board.wakes == before);
    CHECK(board.app.next_deadline() == never);
}

TEST_CASE("a vanished chip is a fault, is tried again without a busy loop, and works when back") {
    auto events = std::vector<rehearsal::ScriptEvent>{{2s, rehearsal::ChipFault::vanish},
                                                      {600s, rehearsal::ChipFault::comes_back}} +
                  press(605s, 3500ms);
    VirtualBoard board(events);
    board.run_to(599s);
    CHECK(board.app.cue().name == CueName::fault);
    CHECK(board.journal.count("vanished") == 1);
    CHECK(board.wakes < 40);
    board.run_to(604s);
    CHECK(board.app.cue().name == CueName::rest);
    board.run_to(620s);
    CHECK(board.power.asked.size() == 1);
}

TEST_CASE("a chip that vanishes under a held button powers nothing off") {
    auto events = std::vector{moves(1s, Level::active)} +
                  std::vector<rehearsal::ScriptEvent>{{5s, rehearsal::ChipFault::vanish}} +
                  std::vector{moves(6s, Level::inactive)} +
                  std::vector<rehearsal::ScriptEvent>{{8s, rehearsal::ChipFault::comes_back}};
    VirtualBoard board(events);
    board.run_to(60s);
    CHECK(board.power.asked.empty());
    CHECK(board.app.cue().name == CueName::rest);
}

TEST_CASE("a lost release edge never powers off: the line is read anew") {
    auto events = std::vector{moves(1s, Level::active)} +
                  std::vector<rehearsal::ScriptEvent>{{4500ms, rehearsal::DropEvents{1}}} +
                  std::vector{moves(5s, Level::inactive),
                              moves(6s, Level::active),
                              moves(7s, Level::inactive)};
    VirtualBoard board(events);
    board.run_to(20s);
    CHECK(board.power.asked.empty());
    CHECK(board.journal.has("the kernel dropped edges"));
    CHECK(board.app.cue().name == CueName::rest);
}

TEST_CASE("a loop that was stalled over the whole press still decides by the stamps") {
    VirtualBoard board(press(1s, 3200ms) + press(5s, 100ms));
    board.run_to(900ms);
    board.clock.time = board.line.start() + 30s;
    board.wake();
    board.run_to(40s);
    CHECK(board.power.asked.size() == 1);
    CHECK(board.journal.has("let go after 3.200 s"));
}

TEST_CASE("a resume from suspend voids the press that woke the board") {
    VirtualBoard board(press(1s, 10s));
    board.run_to(2s);
    board.clock.asleep = 3600s;
    board.run_to(30s);
    CHECK(board.power.asked.empty());
    CHECK(board.journal.has("suspended"));
}

TEST_CASE("a reload calls the countdown off") {
    auto settings = pontoon_settings();
    settings.core.grace = 5s;
    VirtualBoard board(settings, press(1s, 3200ms), Level::inactive);
    board.run_to(6s);
    REQUIRE(board.app.cue().name == CueName::countdown);
    board.reload(settings);
    board.run_to(30s);
    CHECK(board.power.asked.empty());
    CHECK(board.app.cue().name == CueName::rest);
}

TEST_CASE("a countdown that nobody calls off asks at its end, a press calls it off") {
    auto settings = pontoon_settings();
    settings.core.grace = 5s;
    VirtualBoard left_alone(settings, press(1s, 3200ms), Level::inactive);
    left_alone.run_to(30s);
    CHECK(left_alone.power.asked.size() == 1);
    VirtualBoard called_off(settings, press(1s, 3200ms) + press(6s, 200ms), Level::inactive);
    called_off.run_to(30s);
    CHECK(called_off.power.asked.empty());
    CHECK(called_off.journal.has("called off by a press"));
}

TEST_CASE("going down with the button pressed holds the delay lock until it is let go") {
    VirtualBoard board(press(10s, 5s));
    board.run_to(11s);
    CHECK(board.power.delay_held);
    board.app.going_down(true, core::GoingDownKind::power_off);
    CHECK(board.power.delay_held);
    CHECK(board.app.cue().name == CueName::leaving);
    board.run_to(20s);
    CHECK_FALSE(board.power.delay_held);
    CHECK(board.power.asked.empty());
    board.app.going_down(false, core::GoingDownKind::unknown);
    CHECK(board.power.delay_held);
    board.run_to(30s);
    CHECK(board.app.cue().name == CueName::rest);
}

TEST_CASE("a reboot, and a shutdown with the button at rest, are not held back") {
    VirtualBoard pressed(press(10s, 5s));
    pressed.run_to(11s);
    pressed.app.going_down(true, core::GoingDownKind::reboot);
    CHECK_FALSE(pressed.power.delay_held);
    VirtualBoard at_rest(press(10s, 1s));
    at_rest.run_to(5s);
    at_rest.app.going_down(true, core::GoingDownKind::power_off);
    CHECK_FALSE(at_rest.power.delay_held);
}

TEST_CASE("a shutdown that does not wait for a stuck button says so, once") {
    VirtualBoard spent(press(1s, 3200ms) + press(6s, 60s));  // the second press leads to nothing
    spent.run_to(40s);
    CHECK_FALSE(spent.journal.has("is the button stuck?"));
    spent.app.going_down(true, core::GoingDownKind::power_off);
    CHECK_FALSE(spent.power.delay_held);
    CHECK(spent.journal.count("too long for a press; the shutdown does not wait for it") == 1);
    spent.app.going_down(true, core::GoingDownKind::power_off);
    CHECK(spent.journal.count("is the button stuck?") == 1);
    VirtualBoard reboot(press(1s, 3200ms) + press(6s, 60s));
    reboot.run_to(40s);
    reboot.app.going_down(true, core::GoingDownKind::reboot);
    CHECK_FALSE(reboot.journal.has("the shutdown does not wait"));
}

TEST_CASE("a shutdown that waited until the button proved stuck says so") {
    VirtualBoard board(press(10s, 60s));
    board.run_to(20s);
    board.app.going_down(true, core::GoingDownKind::power_off);
    CHECK(board.power.delay_held);
    board.run_to(60s);
    CHECK_FALSE(board.power.delay_held);
    CHECK(board.journal.count("the shutdown does not wait for it") == 1);
}

TEST_CASE("a refusal is shown with its reason for 5 s, and a further press works") {
    VirtualBoard board(press(1s, 3200ms) + press(20s, 3200ms));
    board.run_to(5s);
    board.answered(core::AnswerKind::refused, "blocked by the tide logger: calibration");
    CHECK(board.app.cue().name == CueName::refused);
    CHECK(board.journal.has("refused: blocked by the tide logger: calibration"));
    board.run_to(12s);
    CHECK(board.app.cue().name == CueName::rest);
    board.run_to(30s);
    CHECK(board.power.asked.size() == 2);
}

TEST_CASE(
    "while a request has no answer nothing further is asked; a late refusal frees the button") {
    VirtualBoard board(press(1s, 3200ms) + press(40s, 3200ms) + press(100s, 3200ms));
    board.run_to(60s);
    CHECK(board.power.asked.size() == 1);
    CHECK(board.app.cue().state == core::State::unanswered);
    CHECK(board.app.cue().name == CueName::leaving);
    board.answered(core::AnswerKind::refused, "policy");
    board.run_to(120s);
    CHECK(board.power.asked.size() == 2);
}

TEST_CASE("stopped by a shutdown the leaving cue stands, stopped otherwise it is given back") {
    VirtualBoard stopped(press(1s, 100ms));
    stopped.run_to(2s);
    stopped.app.stop();
    REQUIRE(stopped.cues.ends.size() == 1);
    CHECK_FALSE(stopped.cues.ends[0].in_shutdown);
    VirtualBoard leaving(press(1s, 100ms));
    leaving.run_to(2s);
    leaving.app.going_down(true, core::GoingDownKind::power_off);
    leaving.app.stop();
    REQUIRE(leaving.cues.ends.size() == 1);
    CHECK(leaving.cues.ends[0].in_shutdown);
}

namespace {

/// 5,000 edges a second for six seconds.
std::vector<rehearsal::ScriptEvent> storm() {
    std::vector<rehearsal::ScriptEvent> events;
    events.reserve(30'000);
    for (int i = 0; i < 30'000; ++i) {
        events.push_back(moves(1s + i * 200us, (i % 2) == 0 ? Level::active : Level::inactive));
    }
    return events;
}

}  // namespace

TEST_CASE("a floating line is let go and tried again with back-off") {
    VirtualBoard board(storm());
    board.run_to(3500ms);
    CHECK(board.app.cue().name == CueName::fault);
    CHECK(board.journal.has("edges in a second, and neither level lasts"));
    board.run_to(60s);
    CHECK(board.app.cue().name == CueName::rest);
    CHECK(board.power.asked.empty());
}

TEST_CASE("a line that can be read again is told once, with how long it could not, and no trial") {
    VirtualBoard board(storm());
    board.run_to(60s);
    CHECK(board.app.cue().name == CueName::rest);
    CHECK(board.journal.count("watching line") == 1);
    CHECK_FALSE(board.journal.has("can be read again"));
    board.run_to(10min);
    CHECK(board.journal.count("watching line") == 1);
    // Found at 3 s, opened the last time at 7 s.
    CHECK(board.journal.count("FRONT_BUTTON on soc-gpio can be read again: for 1 min now, after "
                              "4 s in which it could not") == 1);
    CHECK(board.app.next_deadline() == never);
}

TEST_CASE("a line that vanishes while it is on trial is told to be watched again") {
    std::vector<rehearsal::ScriptEvent> events = storm();
    events.push_back({20s, rehearsal::ChipFault::vanish});
    events.push_back({30s, rehearsal::ChipFault::comes_back});
    VirtualBoard board(events);
    board.run_to(40s);
    CHECK(board.journal.count("watching line") == 2);
    board.run_to(2min);
    CHECK(board.journal.count("can be read again") == 1);
}
