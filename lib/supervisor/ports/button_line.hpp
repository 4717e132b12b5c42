// SPDX-License-Identifier: MIT
#pragma once

#include "base/level.hpp"
#include "base/result.hpp"
#include "base/time.hpp"
#include "config/settings.hpp"

#include <cstdint>
#include <span>
#include <string>

namespace nightlatch::ports {

struct LineRequest {
    lines::LineName where;
    lines::Bias bias = lines::Bias::as_is;
    bool active_low = false;

    bool operator==(const LineRequest&) const = default;
};

/// What was opened.
struct LineFacts {
    std::string chip;  ///< e.g. "gpiochip0 [soc-gpio]"
    unsigned offset = 0;
    std::string name;         ///< the line's own name; may be empty
    bool sleeps = false;      ///< the chip is behind a bus (I2C, SPI): its edges come late
    std::string chip_name{};  ///< the kernel's name of the chip, "gpiochip0"; empty when simulated
};

/// One edge event as the kernel hands it out.
struct LineEvent {
    Instant stamp;
    Level level = Level::inactive;
    std::uint64_t seqno = 0;  ///< counts up by one; a gap means events were dropped (the oldest)
};

/// The button line. One real side (daemon/gpio, libgpiod) and one simulated
/// (lib/rehearsal/simulated_line). After a call that fails with Trouble::gone only close() and
/// open() make sense.
struct ButtonLine {
    ButtonLine() = default;
    ButtonLine(const ButtonLine&) = delete;
    ButtonLine& operator=(const ButtonLine&) = delete;
    virtual ~ButtonLine() = default;

    /// Requests the line as an input with both edges, CLOCK_MONOTONIC stamps and a kernel buffer of
    /// 1,024 events. Fails with a sentence that says what to do (Trouble: no_chip, no_line,
    /// ambiguous, busy, denied, unsupported, other).
    virtual Result<LineFacts> open(const LineRequest& request) = 0;
    virtual void close() noexcept = 0;

    /// Takes the events that wait, oldest first, without blocking; 0 when there are none.
    virtual Result<std::size_t> drain(std::span<LineEvent> into) = 0;

    /// Reads the level now.
    virtual Result<Level> level() = 0;
};

}  // namespace nightlatch::ports
