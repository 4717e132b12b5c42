// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/tool/check/check.hpp"

namespace CLI {  // NOLINT(readability-identifier-naming): the library's own
class App;
}

namespace nightlatch::tool {

/// `check`'s part of the command line.
void add_check(CLI::App& app, CheckOptions& options);

}  // namespace nightlatch::tool
