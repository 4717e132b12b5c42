// SPDX-License-Identifier: MIT
#pragma once

#include "audit/kernel_facts.hpp"

namespace nightlatch::facts {

/// From <root>/proc/cmdline and the folders of modules below /usr/lib/modules or /lib/modules.
audit::KernelFacts read_kernel_facts(const std::string& root);

}  // namespace nightlatch::facts
