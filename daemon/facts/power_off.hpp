// SPDX-License-Identifier: MIT
#pragma once

#include "audit/facts.hpp"

#include <string>
#include <string_view>

namespace nightlatch::facts {

/// The kernel that is asked about.
struct Kernel {
    std::string release;  ///< as uname(2) gives it; empty when it is not known
    std::string machine;  ///< "aarch64"
};

Kernel this_kernel();

/// Who of the running kernel's drivers may switch off; below a root, so testable.
audit::PowerOffFacts read_power_off(const std::string& root, const Kernel& kernel);

/// The first function in the text of /proc/kallsyms that belongs to a module and by its name
/// switches off: "axp20x_power_off" of the modules "axp20x" and "axp20x_i2c"; empty without one.
std::string power_off_symbol(std::string_view symbols, std::string_view module);

}  // namespace nightlatch::facts
