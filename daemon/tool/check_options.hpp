// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/tool/check.hpp"

namespace CLI {
class App;
}

namespace nightlatch::tool {

/// `check`'s part of the command line.
void add_check(CLI::App& app, CheckOptions& options);

}  // namespace nightlatch::tool
