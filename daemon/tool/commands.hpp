// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/tool/options.hpp"

#include <vector>

namespace nightlatch::tool {

/// Every command of `nightlatch`, in the order in which --help lists them.
std::vector<Command> commands();

}  // namespace nightlatch::tool
