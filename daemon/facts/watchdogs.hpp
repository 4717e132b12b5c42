// SPDX-License-Identifier: MIT
#pragma once

#include "audit/facts.hpp"

namespace nightlatch::facts {

/// The kernel's watchdog devices, from <root>/sys/class/watchdog [linux
/// Documentation/ABI/testing/sysfs-class-watchdog]. A kernel without CONFIG_WATCHDOG_SYSFS shows
/// their names alone.
Known<std::vector<audit::Watchdog>> read_watchdogs(const std::string& root);

}  // namespace nightlatch::facts
