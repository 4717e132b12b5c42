// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/gpio/gpiod.hpp"

namespace nightlatch::gpio {

/// A GPIO line that shows cues: a lamp, a buzzer.
class OutputLine {
public:
    explicit OutputLine(Places places = {});

    /// Requests the line driven inactive, whatever it was before.
    /// Trouble: no_chip, no_line, ambiguous, busy, denied, unsupported, other.
    Result<ports::LineFacts> open(const lines::LineName& where, bool active_low);

    /// Trouble: gone (also while closed), other. After gone only close() and open() make sense.
    Outcome set(Level level);

    /// What the line does afterwards is the kernel's and the chip's business
    /// [linux Documentation/userspace-api/gpio/gpio-v2-get-line-ioctl.rst].
    void close() noexcept;

private:
    Places places_;
    HeldLine line_;
};

}  // namespace nightlatch::gpio
