// SPDX-License-Identifier: MIT
#include "core/debounce.hpp"

#include <tuple>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::core;
using namespace std::chrono_literals;

namespace {

constexpr Instant zero{100s};

/// A debouncer that has settled as released at zero + 50 ms.
Debounce settled_released(Duration press = 30ms, Duration release = 50ms) {
    Debounce debounce;
    debounce.set_intervals(press, release);
    debounce.reset(zero, Level::inactive);
    REQUIRE(debounce.expire().kind == SettleKind::released);
    return debounce;
}

void sample(Debounce& debounce, Duration at, Level level) {
    debounce.sample({zero + at, level});
}

/// Pressed at `at`, and settled.
void press(Debounce& debounce, Duration at) {
    sample(debounce, at, Level::active);
    REQUIRE(debounce.expire().kind == SettleKind::pressed);
}

/// Released at `at` for `lasting`, and what comes of it when pressed is stable again.
Settled drop_out(Debounce& debounce, Duration at, Duration lasting) {
    sample(debounce, at, Level::inactive);
    REQUIRE(debounce.deadline() > zero + at + lasting);
    sample(debounce, at + lasting, Level::active);
    return debounce.expire();
}

}  // namespace

TEST_CASE("a press begins at its last edge and is settled one press interval later") {
    Debounce debounce = settled_released();
    sample(debounce, 1s, Level::active);
    sample(debounce, 1s + 2ms, Level::inactive);
    sample(debounce, 1s + 3ms, Level::active);
    CHECK(debounce.deadline() == zero + 1s + 33ms);
    const Settled settled = debounce.expire();
    CHECK(settled.kind == SettleKind::pressed);
    CHECK(settled.edge == zero + 1s + 3ms);
    CHECK(settled.at == zero + 1s + 33ms);
    CHECK(debounce.confirmed_pressed());
    CHECK(debounce.deadline() == never);
}

TEST_CASE("a press ends at the first edge of the episode that settled as released") {
    Debounce debounce = settled_released();
    sample(debounce, 1s, Level::active);
    std::ignore = debounce.expire();
    sample(debounce, 5s, Level::inactive);
    CHECK_FALSE(debounce.confirmed_pressed());
    sample(debounce, 5s + 10ms, Level::active);
    sample(debounce, 5s + 20ms, Level::inactive);
    CHECK(debounce.deadline() == zero + 5s + 70ms);
    const Settled settled = debounce.expire();
    CHECK(settled.kind == SettleKind::released);
    CHECK(settled.edge == zero + 5s);
}

TEST_CASE("a drop-out shorter than the release interval is a glitch") {
    Debounce debounce = settled_released();
    sample(debounce, 1s, Level::active);
    std::ignore = debounce.expire();
    sample(debounce, 2s, Level::inactive);
    sample(debounce, 2s + 49ms, Level::active);
    CHECK(debounce.deadline() == zero + 2s + 79ms);
    CHECK(debounce.expire().kind == SettleKind::glitch);
    CHECK(debounce.confirmed_pressed());
}

TEST_CASE("drop-outs add up over the press: at the release interval it is pressed again") {
    Debounce debounce = settled_released();
    press(debounce, 1s);
    CHECK(drop_out(debounce, 2s, 20ms).kind == SettleKind::glitch);
    CHECK(drop_out(debounce, 3s, 29ms).kind == SettleKind::glitch);
    const Settled settled = drop_out(debounce, 4s, 1ms);
    CHECK(settled.kind == SettleKind::pressed_again);
    CHECK(settled.at == zero + 4s + 31ms);
    CHECK(settled.edge == zero + 4s + 1ms);
    CHECK(settled.opened == zero + 4s);
    CHECK(settled.dropped == 50ms);
    CHECK(debounce.confirmed_pressed());
    CHECK(debounce.deadline() == never);
}

TEST_CASE("pressed again, drop-outs are counted anew") {
    Debounce debounce = settled_released();
    press(debounce, 1s);
    CHECK(drop_out(debounce, 2s, 49ms).kind == SettleKind::glitch);
    CHECK(drop_out(debounce, 3s, 49ms).kind == SettleKind::pressed_again);
    CHECK(drop_out(debounce, 4s, 49ms).kind == SettleKind::glitch);
    const Settled settled = drop_out(debounce, 5s, 1ms);
    CHECK(settled.kind == SettleKind::pressed_again);
    CHECK(settled.dropped == 50ms);
}

TEST_CASE("the drop-outs of one episode add up too") {
    for (const Duration last : {9ms, 10ms}) {
        Debounce debounce = settled_released();
        press(debounce, 1s);
        sample(debounce, 2s, Level::inactive);
        sample(debounce, 2s + 40ms, Level::active);
        sample(debounce, 2s + 60ms, Level::inactive);
        sample(debounce, 2s + 60ms + last, Level::active);
        const Settled settled = debounce.expire();
        CHECK((settled.kind == SettleKind::pressed_again) == (last == 10ms));
        CHECK((settled.kind == SettleKind::glitch) == (last == 9ms));
    }
}

TEST_CASE("what bounces before a press begins is none of its drop-outs") {
    Debounce debounce = settled_released();
    sample(debounce, 1s, Level::active);
    sample(debounce, 1s + 2ms, Level::inactive);
    sample(debounce, 1s + 50ms, Level::active);
    REQUIRE(debounce.expire().kind == SettleKind::pressed);
    CHECK(drop_out(debounce, 2s, 49ms).kind == SettleKind::glitch);
}

TEST_CASE("drop-outs of a press that is over are none of the next one's") {
    Debounce debounce = settled_released();
    press(debounce, 1s);
    CHECK(drop_out(debounce, 2s, 49ms).kind == SettleKind::glitch);
    CHECK(drop_out(debounce, 3s, 0ms).kind == SettleKind::glitch);
    sample(debounce, 4s, Level::inactive);
    sample(debounce, 4s + 40ms, Level::active);
    sample(debounce, 4s + 60ms, Level::inactive);
    const Settled released = debounce.expire();
    CHECK(released.kind == SettleKind::released);
    CHECK(released.edge == zero + 4s);
    press(debounce, 5s);
    CHECK(drop_out(debounce, 6s, 49ms).kind == SettleKind::glitch);
}

TEST_CASE("an equal sample adds nothing to the drop-outs") {
    Debounce debounce = settled_released();
    press(debounce, 1s);
    sample(debounce, 2s, Level::active);
    sample(debounce, 2s + 20ms, Level::active);
    CHECK(debounce.expire().kind == SettleKind::glitch);
    sample(debounce, 3s, Level::inactive);
    sample(debounce, 3s + 30ms, Level::inactive);
    sample(debounce, 3s + 49ms, Level::active);
    CHECK(debounce.expire().kind == SettleKind::glitch);
    CHECK(drop_out(debounce, 4s, 1ms).dropped == 50ms);
}

TEST_CASE("without a release interval an equal sample is still no release") {
    Debounce debounce = settled_released(30ms, 0ms);
    press(debounce, 1s);
    sample(debounce, 2s, Level::active);
    CHECK(debounce.expire().kind == SettleKind::glitch);
}

TEST_CASE("a level found pressed can be pressed again, and a reset forgets its drop-outs") {
    Debounce debounce = settled_released();
    for (int i = 0; i < 2; ++i) {
        debounce.reset(zero + 1s, Level::active);
        REQUIRE(debounce.expire().kind == SettleKind::found_pressed);
        CHECK(drop_out(debounce, 2s, 49ms).kind == SettleKind::glitch);
    }
    CHECK(drop_out(debounce, 3s, 1ms).kind == SettleKind::pressed_again);
}

TEST_CASE("an equal sample opens an episode too: edges were merged") {
    Debounce debounce = settled_released();
    sample(debounce, 1s, Level::active);
    std::ignore = debounce.expire();
    sample(debounce, 2s, Level::active);
    CHECK_FALSE(debounce.confirmed_pressed());
    sample(debounce, 2s + 10ms, Level::inactive);
    const Settled settled = debounce.expire();
    CHECK(settled.kind == SettleKind::released);
    CHECK(settled.edge == zero + 2s);
}

TEST_CASE("an episode lasts as long as neither level settles, and ends as what it is") {
    Debounce debounce = settled_released();
    press(debounce, 1s);
    CHECK(debounce.unsettled_since() == never);
    for (Duration at = 2s; at < 9s; at += 20ms) {
        REQUIRE(debounce.deadline() > zero + at);
        sample(debounce, at, Level::active);
        CHECK(debounce.unsettled_since() == zero + 2s);
    }
    CHECK(debounce.settled_pressed());
    CHECK(debounce.expire().kind == SettleKind::glitch);
    CHECK(debounce.unsettled_since() == never);
}

TEST_CASE("before the first settling a line is unsettled since its reset") {
    Debounce debounce;
    debounce.set_intervals(30ms, 50ms);
    CHECK(debounce.unsettled_since() == never);
    debounce.reset(zero, Level::inactive);
    sample(debounce, 20ms, Level::active);
    CHECK(debounce.unsettled_since() == zero);
    debounce.lose();
    CHECK(debounce.unsettled_since() == never);
}

TEST_CASE("a level that was there at the reset is found, not pressed") {
    Debounce debounce;
    debounce.set_intervals(30ms, 50ms);
    debounce.reset(zero, Level::active);
    CHECK(debounce.deadline() == zero + 30ms);
    CHECK(debounce.expire().kind == SettleKind::found_pressed);
}

TEST_CASE("a line that cannot be read has no deadline") {
    Debounce debounce = settled_released();
    sample(debounce, 1s, Level::active);
    debounce.lose();
    CHECK(debounce.deadline() == never);
    CHECK_FALSE(debounce.raw());
}
