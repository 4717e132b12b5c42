// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"
#include "lines/chip.hpp"

#include <optional>
#include <string>
#include <vector>

namespace nightlatch::gpio {

/// One sentence for each reason why a line cannot be requested: what is wrong, and what to do.

/// `present`: the chips that could be looked at.
Error no_such_chip(const std::string& wanted, const std::vector<lines::Chip>& present);

/// `candidates`: the chips that carry the label.
Error several_chips(const std::string& label, const std::vector<lines::Chip>& candidates);

/// `code`: EACCES, or EPERM (that is what the device control group answers).
/// Looks at the device's owner and mode to tell a missing group from a missing rule.
Error chip_denied(const std::string& device, int code);

/// A chip's device that cannot be used for another reason.
Error chip_unusable(const std::string& device, int code);

/// The line's place in the sentences below.
struct LinePlace {
    std::string chip;  ///< "gpiochip0 [soc-gpio]"
    unsigned offset = 0;
    std::string name;
};

std::string text_of(const LinePlace& line);

/// `consumer`: who holds the line, if anybody does; empty if the kernel does not say.
Error line_busy(const LinePlace& line, const std::optional<std::string>& consumer);

/// A request that failed for another reason than EBUSY.
Error line_refused(const LinePlace& line, int code);

/// A call on a requested line that failed; ENODEV: the chip is gone.
Error line_lost(const LinePlace& line, int code);

}  // namespace nightlatch::gpio
