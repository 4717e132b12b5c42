// SPDX-License-Identifier: MIT
// The simulated chip's habits are the kernel's
// [linux Documentation/userspace-api/gpio/gpio-v2-line-event-read.rst].
#include "rehearsal/simulated_line.hpp"
#include "support/allocations.hpp"
#include "support/virtual_board.hpp"

#include <array>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace std::chrono_literals;
using testing::moves;

TEST_CASE("events that nobody reads give way to later ones, and the numbers show the gap",
          "[simulated]") {
    constexpr unsigned made = 1'024 + 7;
    std::vector<rehearsal::ScriptEvent> events;
    for (unsigned i = 1; i <= made; ++i) {
        events.push_back(moves(1ms * i, i % 2 == 1 ? Level::active : Level::inactive));
    }
    testing::VirtualClock clock;
    rehearsal::SimulatedLine line({Level::inactive, std::move(events), 2s, {}}, clock, {});
    REQUIRE(line.open({}).has_value());
    clock.time += 2s;
    std::array<ports::LineEvent, 1'000> read{};
    REQUIRE(line.drain(read).value() == read.size());
    CHECK(read.front().seqno == 8);
    CHECK(read.front().stamp == line.start() + 8ms);
    REQUIRE(line.drain(read).value() == 24);
    CHECK(read[23].seqno == made);
    CHECK(read[23].level == Level::active);
    CHECK(line.drain(read).value() == 0);
}

TEST_CASE("a simulated line has no room but for the events that wait", "[simulated]") {
    CHECK(sizeof(rehearsal::SimulatedLine) < 1'024);
}

TEST_CASE("presses that are added one after the other, for days, take no more room",
          "[simulated]") {
    testing::VirtualClock clock;
    rehearsal::SimulatedLine line({Level::inactive, {}, 0s, {}}, clock, {});
    const std::vector<rehearsal::ScriptEvent> press{moves(0ms, Level::active),
                                                    moves(100ms, Level::inactive)};
    const auto play = [&](int times) {
        for (int i = 0; i < times; ++i) {
            line.add(press);
            clock.time += 1s;
            line.play();
        }
    };
    play(1);
    const std::size_t before = test::allocations();
    play(1'000);
    CHECK(test::allocations() == before);
}
