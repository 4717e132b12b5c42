// SPDX-License-Identifier: MIT
#include "bootfiles/overlay_line.hpp"

namespace nightlatch::bootfiles {
namespace {

constexpr unsigned default_active_ms = 100;  // the driver's, and so the overlay's

}  // namespace

// The pin is always named, although 26 is the overlay's default: it is what a reader looks for.
std::string post_halt_config_line(const PostHaltWanted& wanted) {
    std::string line = "dtoverlay=gpio-poweroff,gpiopin=" + std::to_string(wanted.offset);
    if (wanted.active_low) {
        line += ",active_low=1";
    }
    if (wanted.active_ms.value_or(default_active_ms) > default_active_ms) {
        line += ",active_delay_ms=" + std::to_string(*wanted.active_ms);
    }
    return line;
}

}  // namespace nightlatch::bootfiles
