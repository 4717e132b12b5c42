// SPDX-License-Identifier: MIT
// What the service makes of the look at the post-halt line's configuration.
#include "supervisor/status_line.hpp"
#include "support/virtual_board.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::testing;
using core::CueName;
using core::Verdict;
using ports::LookAt;

namespace {

std::vector<rehearsal::ScriptEvent> presses(std::initializer_list<Duration> begins,
                                            Duration length = 3200ms) {
    std::vector<rehearsal::ScriptEvent> events;
    for (const Duration begin : begins) {
        events.push_back(moves(begin, Level::active));
        events.push_back(moves(begin + length, Level::inactive));
    }
    return events;
}

config::Settings settings_with(core::WithoutPostHalt policy) {
    config::Settings settings = pontoon_settings();
    settings.core.without_post_halt = policy;
    return settings;
}

}  // namespace

TEST_CASE("with refuse, a post-halt line that contradicts or is absent refuses the power-off") {
    for (const Verdict verdict : {Verdict::contradicted, Verdict::absent}) {
        VirtualBoard board(
            settings_with(core::WithoutPostHalt::refuse), presses({1s}), Level::inactive);
        board.post_halt.report = {verdict, "the tree says line 7, the circuit 6"};
        board.run_to(5s);
        CHECK(board.power.asked.empty());
        CHECK(board.app.cue().name == CueName::refused);
        CHECK(board.journal.has("the tree says line 7, the circuit 6"));
    }
}

TEST_CASE("with refuse, a verdict that cannot be told refuses nothing") {
    for (const Verdict verdict : {Verdict::cannot_tell, Verdict::configured}) {
        VirtualBoard board(
            settings_with(core::WithoutPostHalt::refuse), presses({1s}), Level::inactive);
        board.post_halt.report = {verdict, ""};
        board.run_to(5s);
        CHECK(board.power.asked.size() == 1);
    }
}

TEST_CASE("with refuse, a reboot is asked for whatever the post-halt line") {
    config::Settings settings = settings_with(core::WithoutPostHalt::refuse);
    settings.core.stages = {{"again", 1s, core::Action::reboot}};
    VirtualBoard board(settings, presses({1s}, 1500ms), Level::inactive);
    board.post_halt.report = {Verdict::absent, "no node"};
    board.run_to(5s);
    CHECK(board.power.asked == std::vector{core::Action::reboot});
}

TEST_CASE("with warn, the power-off is asked for and the journal says that the supply stays on") {
    VirtualBoard board(presses({1s}));
    board.reload(settings_with(core::WithoutPostHalt::warn));
    board.post_halt.report = {Verdict::absent, "the tree has no post-halt node"};
    board.run_to(10s);
    CHECK(board.power.asked.size() == 1);
    CHECK(board.journal.has("asking although the supply will stay on: the tree has no post-halt"));
}

TEST_CASE("the line is looked at when the stage is reached, so the newest verdict decides") {
    VirtualBoard board(
        settings_with(core::WithoutPostHalt::refuse), presses({1s, 20s}), Level::inactive);
    board.post_halt.report = {Verdict::contradicted, "held by a hog"};
    board.run_to(10s);
    REQUIRE(board.power.asked.empty());
    board.post_halt.report = {Verdict::configured, ""};
    board.run_to(30s);
    CHECK(board.power.asked.size() == 1);
    CHECK(board.journal.count("post-halt line: configured, not yet proven") == 1);
}

TEST_CASE("acting at the threshold the line is looked at when the press begins") {
    config::Settings settings = settings_with(core::WithoutPostHalt::refuse);
    settings.core.act_on = core::ActOn::threshold;
    VirtualBoard board(settings, presses({1s, 20s}), Level::inactive);
    board.run_to(500ms);
    board.post_halt.report = {Verdict::absent, "no node"};
    board.run_to(10s);
    CHECK(board.power.asked.empty());
}

TEST_CASE("a press that cannot end in a power-off costs no look, and rest costs none") {
    VirtualBoard board(presses({1s, 5s, 9s}, 500ms));
    board.run_to(500ms);
    const std::vector at_start{LookAt::all};
    CHECK(board.post_halt.looks == at_start);
    board.run_to(3600s);
    CHECK(board.post_halt.looks == at_start);
}

TEST_CASE("the tree is read at the start and at a reload, and never for a press or a chip") {
    VirtualBoard board(presses({1s, 20s}));
    board.run_to(2s);
    CHECK(board.post_halt.looks == std::vector{LookAt::all});
    board.run_to(10s);
    CHECK(board.post_halt.looks == std::vector{LookAt::all, LookAt::line});
    board.app.chips_changed();
    CHECK(board.post_halt.looks == std::vector{LookAt::all, LookAt::line, LookAt::chips});
    board.reload(pontoon_settings());
    CHECK(board.post_halt.looks.back() == LookAt::all);
    CHECK(board.post_halt.looks.size() == 4);
}

TEST_CASE("each verdict is told once, and in the status line") {
    VirtualClock clock;
    RecordingPower power;
    RecordingJournal journal;
    supervisor::JournalFollower told(journal);
    std::string status;
    supervisor::StatusLine line_of_status([&](const std::string& text) { status = text; });
    ToldPostHalt post_halt;
    post_halt.report = {Verdict::configured, ""};
    rehearsal::SimulatedLine line(rehearsal::PressScript{Level::inactive, {}, 0s}, clock, {});
    ScriptedAlarms alarms(clock, {});
    supervisor::App app(std::make_shared<const config::Settings>(pontoon_settings()),
                        {line, power, clock, post_halt, alarms},
                        {&told, &line_of_status});
    app.start();
    clock.time += 1s;
    app.wake();
    CHECK(status ==
          "rest: watching FRONT_BUTTON on soc-gpio; post-halt line: configured, not yet proven");
    app.chips_changed();
    CHECK(journal.count("post-halt line: configured") == 1);
    post_halt.report = {Verdict::contradicted, "the driver is not bound"};
    app.chips_changed();
    CHECK(status == "rest: watching FRONT_BUTTON on soc-gpio; post-halt line: contradicted");
    CHECK(journal.count("contradicted: the driver is not bound; see `sudo nightlatch audit`") == 1);
}
