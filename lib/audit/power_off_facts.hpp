// SPDX-License-Identifier: MIT
#pragma once

#include "base/known.hpp"

#include <string>
#include <vector>

namespace nightlatch::audit {

/// A device with its driver.
struct BoundDevice {
    std::string node;    ///< device-tree path of it; empty when it has none
    std::string driver;  ///< "axp20x-i2c"
    std::string module;  ///< "axp20x_i2c", also of what is built in; empty when the kernel has none
    /// Of the kernel's source, where the driver's is one that ways off are at home in:
    /// "drivers/power/reset", "drivers/mfd", "drivers/regulator"; else empty.
    std::string folder;
    std::string symbol;  ///< a function of the module whose name says that it switches off
};

/// What a running kernel shows of its ways off: not the list itself.
struct PowerOffFacts {
    Known<std::vector<BoundDevice>> bound;
    /// The kernel was started by EFI on arm64, and uses its run-time services.
    Known<bool> efi;
};

}  // namespace nightlatch::audit
