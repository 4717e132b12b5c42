// SPDX-License-Identifier: MIT
// One line's procedure, seen through the App.
#include "support/virtual_board.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::testing;

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
    VirtualBoard sleeps(at_threshold(), press_at(1s), Level::inactive, true);
    CHECK(asked_after(sleeps, 1s) == 3050ms);
    VirtualBoard direct(at_threshold(), press_at(1s), Level::inactive);
    CHECK(asked_after(direct, 1s) == 3005ms);
}

TEST_CASE("the guard of a chip that sleeps is 50 ms after a reload, too") {
    VirtualBoard board(at_threshold(), press_at(2s), Level::inactive, true);
    board.run_to(1s);
    board.app.reload(at_threshold());
    CHECK(asked_after(board, 2s) == 3050ms);
}
