// SPDX-License-Identifier: MIT
#pragma once

#include <chrono>

namespace nightlatch {

using Duration = std::chrono::nanoseconds;

/// The board's CLOCK_MONOTONIC, the clock of the kernel's edge stamps [include/uapi/linux/gpio.h].
/// It has no now(): code that sees only this type cannot read the time, so purity is a compile
/// error.
struct BoardClock {
    using duration = Duration;
    using rep = duration::rep;
    using period = duration::period;
    using time_point = std::chrono::time_point<BoardClock, duration>;
    static constexpr bool is_steady = true;
};

using Instant = BoardClock::time_point;

constexpr Instant never = Instant::max();

}  // namespace nightlatch
