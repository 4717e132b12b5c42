// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"

namespace nightlatch::ports {

struct Clock {
    Clock() = default;
    Clock(const Clock&) = delete;
    Clock& operator=(const Clock&) = delete;
    virtual ~Clock() = default;

    [[nodiscard]] virtual Instant now() const = 0;  ///< CLOCK_MONOTONIC

    /// CLOCK_BOOTTIME minus CLOCK_MONOTONIC: the time spent suspended; it jumps on each resume.
    [[nodiscard]] virtual Duration suspended() const = 0;
};

}  // namespace nightlatch::ports
