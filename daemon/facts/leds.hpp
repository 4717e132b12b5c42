// SPDX-License-Identifier: MIT
#pragma once

#include "audit/facts.hpp"

#include <string_view>

namespace nightlatch::facts {

/// The LEDs of <root>/sys/class/leds [linux Documentation/ABI/testing/sysfs-class-led], and whether
/// the service's account may write brightness and trigger, by their mode bits.
Known<std::vector<audit::LedFacts>> read_leds(const std::string& root);

/// "none [timer] heartbeat": every name, the chosen one too [.../sysfs-class-led, trigger].
std::vector<std::string> triggers_in(std::string_view text);

}  // namespace nightlatch::facts
