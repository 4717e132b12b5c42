// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/tool/options.hpp"

#include <span>

namespace nightlatch::tool {

/// Reads the command line, runs the command that it names, and gives the exit status. Help and
/// version are printed; what is wrong is told with what was probably meant.
int run_command_line(int argc, char** argv, std::span<const Command> commands);

}  // namespace nightlatch::tool
