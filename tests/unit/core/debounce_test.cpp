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

TEST_CASE("an episode that settles neither way within 1 s is void") {
    Debounce debounce = settled_released();
    sample(debounce, 1s, Level::active);
    std::ignore = debounce.expire();
    for (Duration at = 2s; at < 3s; at += 20ms) {
        REQUIRE(debounce.deadline() > zero + at);
        sample(debounce, at, at % 40ms == 0ms ? Level::inactive : Level::active);
    }
    CHECK(debounce.deadline() == zero + 3s);
    CHECK(debounce.expire().kind == SettleKind::voided);
    CHECK_FALSE(debounce.settled_pressed());
    CHECK_FALSE(debounce.settled_released());
}

TEST_CASE("with long intervals the limit is four times the longer one") {
    Debounce debounce = settled_released(30ms, 400ms);
    for (int i = 0; i < 160; ++i) {
        sample(debounce, 1s + i * 10ms, i % 2 == 0 ? Level::active : Level::inactive);
    }
    CHECK(debounce.deadline() == zero + 1s + 1600ms);
    CHECK(debounce.expire().kind == SettleKind::voided);
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
