// SPDX-License-Identifier: MIT
#pragma once

#include "core/cue.hpp"
#include "daemon/sys/event_loop.hpp"
#include "fake_led.hpp"
#include "recorded_journal.hpp"

#include <memory>

#include <catch2/catch_test_macros.hpp>

namespace nightlatch::test {

inline std::unique_ptr<sys::EventLoop> opened_loop() {
    auto loop = sys::EventLoop::open();
    REQUIRE(loop);
    return std::move(loop.value());
}

/// A real loop, an account without privileges and a directory of its own.
struct CueWorld {
    /// Turns the loop until the condition holds; ten seconds are too long.
    template <class Condition>
    void await(Condition&& condition) {
        const Instant end = loop->now() + std::chrono::seconds{10};
        while (!condition()) {
            REQUIRE(loop->now() < end);
            REQUIRE(loop->turn(std::chrono::seconds{1}));
        }
    }

    /// Turns the loop for as long as something is there to be done.
    void settle() {
        std::uint64_t before = 0;
        do {
            before = loop->turns();
            REQUIRE(loop->turn(Duration{0}));
        } while (loop->turns() - before > 1);
    }

    AsNobody nobody;
    TempDir root;
    RecordedJournal journal;
    std::unique_ptr<sys::EventLoop> loop = opened_loop();
};

inline core::Cue cue(core::CueName name) {
    core::Cue it;
    it.name = name;
    return it;
}

}  // namespace nightlatch::test
