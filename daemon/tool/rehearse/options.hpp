// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/tool/rehearse/rehearse.hpp"

namespace CLI {  // NOLINT(readability-identifier-naming): the library's own
class App;
}

namespace nightlatch::tool {

/// `rehearse`'s part of the command line.
void add_rehearse(CLI::App& app, RehearseOptions& options);

}  // namespace nightlatch::tool
