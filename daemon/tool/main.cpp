// SPDX-License-Identifier: MIT
#include "daemon/tool/cli.hpp"
#include "daemon/tool/commands.hpp"
#include "daemon/tool/output.hpp"

#include <csignal>

// What CLI11 throws beyond a parse error is a mistake of ours, and ends the program.
// NOLINTNEXTLINE(bugprone-exception-escape)
int main(int argc, char** argv) {
    // A pipe that nobody reads any more is a failure to write, and told like any other.
    std::signal(SIGPIPE, SIG_IGN);
    return nightlatch::tool::finish_output(
        nightlatch::tool::run_command_line(argc, argv, nightlatch::tool::commands()));
}
