// SPDX-License-Identifier: MIT
#pragma once

#include "base/known.hpp"

#include <string>
#include <vector>

namespace nightlatch::facts {

/// Device-tree paths of the devices whose probe waits for another. Root sees all of them
/// [/sys/kernel/debug/devices_deferred; linux drivers/base/dd.c]. Others see only those that wait
/// for a supplier that is not there yet [linux Documentation/ABI/testing/
/// sysfs-devices-waiting_for_supplier]: when there is one it is told; that there is none proves
/// nothing, and the answer is missing.
Known<std::vector<std::string>> read_deferred(const std::string& root);

/// The device names of devices_deferred: the first word of each line, the reason after it.
std::vector<std::string> deferred_devices(std::string_view text);

}  // namespace nightlatch::facts
