// SPDX-License-Identifier: MIT
#pragma once

#include "audit/facts.hpp"
#include "daemon/gpio/gpiod.hpp"

#include <string>
#include <vector>

namespace nightlatch::gpio {

/// A chip that is there and could not be looked at.
struct UnseenChip {
    std::string device;  ///< "/dev/gpiochip0"
    Error error;         ///< denied: names the group to join; or another trouble
};

struct Survey {
    std::vector<lines::Chip> chips;  ///< by the kernel's number
    std::vector<UnseenChip> unseen;
};

/// Every GPIO chip of the machine and what the kernel says of each line. Changes nothing: opening a
/// chip requests no line, and reading a line's information leaves the line and its pin as they are
/// [linux Documentation/userspace-api/gpio/gpio-v2-get-lineinfo-ioctl.rst].
Survey survey(const Places& places = {});

/// The level of the configured button line at rest, with the bias that is configured; electrical,
/// so wanted.active_low is left out of account.
///
/// CAUTION: this requests the line as an input, and a request can switch its pin's function: what
/// hung on the pin, an SD card or a bus, is cut off. Call it only for a line that a person named as
/// the button's and whose pin is known to be GPIO now. A line that somebody holds is never taken:
/// the level is then missing, and who holds it is said. The bias that was asked for may stay on the
/// pin after the release.
Known<audit::RestLevel> read_rest_level(const Places& places, const Wanted& wanted);

}  // namespace nightlatch::gpio
