// SPDX-License-Identifier: MIT
// One line's procedure, seen through the App: reading, gaps, failed reads, opening anew.
#include "support/virtual_board.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::testing;
using core::CueName;

namespace {

std::vector<rehearsal::ScriptEvent> press_at(Duration at) {
    return {moves(at, Level::active), moves(at + 3200ms, Level::inactive)};
}

config::Settings at_threshold() {
    config::Settings settings = pontoon_settings();
    settings.core.act_on = core::ActOn::threshold;
    return settings;
}

/// How long after the press a button that acts at the threshold (3 s) asks.
Duration asked_after(VirtualBoard& board, Duration pressed_at) {
    Duration after = 2900ms;
    while (board.power.asked.empty()) {
        after += 1ms;
        REQUIRE(after < 3200ms);
        board.run_to(pressed_at + after);
    }
    return after;
}

}  // namespace

TEST_CASE("acting at the threshold the guard is 50 ms on a chip that sleeps, else 5 ms") {
    VirtualBoard sleeps(at_threshold(), press_at(1s), Level::inactive, {{}, true});
    CHECK(asked_after(sleeps, 1s) == 3050ms);
    VirtualBoard direct(at_threshold(), press_at(1s), Level::inactive);
    CHECK(asked_after(direct, 1s) == 3005ms);
}

TEST_CASE("the guard of a chip that sleeps is 50 ms after a reload, too") {
    VirtualBoard board(at_threshold(), press_at(2s), Level::inactive, {{}, true});
    board.run_to(1s);
    board.reload(at_threshold());
    CHECK(asked_after(board, 2s) == 3050ms);
}

TEST_CASE(
    "edges dropped in the midst of a batch are one gap, told once, and the next press works") {
    VirtualBoard board({moves(1s, Level::active),
                        {1005ms, rehearsal::DropEvents{1}},
                        moves(1010ms, Level::inactive),
                        moves(1020ms, Level::active),
                        moves(1030ms, Level::inactive),
                        moves(1040ms, Level::active),
                        moves(1050ms, Level::inactive),
                        moves(2s, Level::active),
                        moves(5200ms, Level::inactive)});
    board.run_to(999ms);
    board.clock.time = board.line.start() + 1060ms;  // the loop was late: all of them in one batch
    board.wake();
    board.run_to(10s);
    CHECK(board.journal.count("the kernel dropped edges") == 1);
    CHECK(board.power.asked.size() == 1);
}

TEST_CASE("one read of the level that fails is tried again, and costs neither line nor press") {
    VirtualBoard board(press_at(1s));
    board.wired.unreadable_from = board.line.start() + 4s;  // as the stage is reached
    board.wired.unreadable_until = board.line.start() + 4040ms;
    board.run_to(10s);
    CHECK(board.wired.failed_reads >= 2);
    CHECK(board.journal.count("reading the level failed") == 0);
    CHECK(board.power.asked.size() == 1);
    CHECK(board.cues.shown ==
          std::vector{
              CueName::waiting, CueName::rest, CueName::holding, CueName::ready, CueName::leaving});
}

TEST_CASE("while the level cannot be read no stage is reached, and after 50 ms the line is gone") {
    VirtualBoard board(press_at(1s));
    board.wired.unreadable_from = board.line.start() + 4s;
    board.wired.unreadable_until = board.line.start() + 5s;
    board.run_to(4049ms);
    CHECK(board.app.cue().name == CueName::holding);
    CHECK(board.wired.failed_reads < 20);  // no busy loop
    board.run_to(4051ms);
    CHECK(board.app.cue().name == CueName::fault);
    CHECK(board.journal.count("reading the level failed") == 1);
    board.run_to(60s);
    CHECK(board.power.asked.empty());
    CHECK(board.app.cue().name == CueName::rest);
}

TEST_CASE("a chip that says it is gone is believed at once") {
    VirtualBoard board(press_at(1s));
    board.wired.unreadable_from = board.line.start() + 4s;
    board.wired.unreadable_until = board.line.start() + 5s;
    board.wired.trouble = Trouble::gone;
    board.run_to(4s);
    CHECK(board.app.cue().name == CueName::fault);
    CHECK(board.wired.failed_reads == 1);
}

TEST_CASE("a level that cannot be read after a reload is read a little later") {
    VirtualBoard board(press_at(2s));
    board.run_to(1s);
    board.wired.unreadable_from = board.clock.time;
    board.wired.unreadable_until = board.clock.time + 30ms;
    board.reload(pontoon_settings());
    CHECK(board.app.cue().name == CueName::waiting);
    board.run_to(10s);
    CHECK(board.journal.count("reading the level failed") == 0);
    CHECK(board.power.asked.size() == 1);
}

TEST_CASE("a press under way as the board resumes is void, though the level is read late") {
    VirtualBoard board(press_at(1s));
    board.run_to(2s);
    board.clock.asleep = 10min;
    board.wired.unreadable_from = board.clock.time;
    board.wired.unreadable_until = board.clock.time + 30ms;
    board.wake();
    board.run_to(10s);
    CHECK(board.power.asked.empty());
    CHECK(board.app.cue().name == CueName::rest);
}

namespace {

/// Owns a line that is not the button's.
struct Elsewhere final : supervisor::WatchedLine::Owner {
    int batches = 0;
    std::vector<std::string> troubles;

    void line_opened(core::LineIndex, const ports::LineFacts&, bool) override {}

    void line_closing(core::LineIndex) override {}

    void line_trouble(core::LineIndex, const Error& error, bool news) override {
        if (news) {
            troubles.push_back(error.text);
        }
    }

    void edges_dropped(core::LineIndex) override {}

    void batch_fed() override { ++batches; }
};

}  // namespace

TEST_CASE("another line is watched by the same procedure, and its edges are not the button's") {
    VirtualClock clock;
    core::Core core(std::make_shared<const core::Settings>(pontoon_settings().core));
    rehearsal::SimulatedLine alarm(
        rehearsal::PressScript{Level::inactive, press_at(1s), 0s}, clock, {});
    Elsewhere owner;
    supervisor::WatchedLine line({alarm, clock, core, owner}, 1);
    line.open({{"soc-gpio", "BATTERY_LOW"}, lines::Bias::pull_up, true}, core::ResyncWhy::start);
    REQUIRE(line.is_open());
    clock.time += 5s;
    CHECK(line.drain());
    CHECK(owner.batches == 1);
    CHECK_FALSE(core.settled());
    std::size_t ignored = 0;  // no alarm has that line
    while (const auto note = core.take_note()) {
        CHECK(note->why == core::Why::ignored);
        ++ignored;
    }
    CHECK(ignored == 4);  // opened, read anew, pressed, let go
}
