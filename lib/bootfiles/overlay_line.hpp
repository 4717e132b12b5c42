// SPDX-License-Identifier: MIT
#pragma once

#include "bootfiles/intent.hpp"

#include <optional>

namespace nightlatch::bootfiles {

/// What a post-halt node must say, in numbers.
struct PostHaltWanted {
    unsigned offset = 0;
    bool active_low = false;
    std::optional<unsigned> active_ms;  ///< unbroken; without it the driver's 100 ms
};

/// The line for config.txt that makes such a node:
/// "dtoverlay=gpio-poweroff,gpiopin=6,active_delay_ms=200" [raspberrypi/linux,
/// arch/arm/boot/dts/overlays/README].
std::string post_halt_config_line(const PostHaltWanted& wanted);

}  // namespace nightlatch::bootfiles
