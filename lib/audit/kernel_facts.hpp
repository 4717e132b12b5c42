// SPDX-License-Identifier: MIT
#pragma once

#include "base/known.hpp"

#include <string>
#include <vector>

namespace nightlatch::audit {

/// What is known of a kernel beside its version.
struct KernelFacts {
    Known<std::string> arguments;  ///< its command line, as it was started
    /// The releases whose modules are installed, sorted; none on a system without modules.
    Known<std::vector<std::string>> installed;
};

}  // namespace nightlatch::audit
