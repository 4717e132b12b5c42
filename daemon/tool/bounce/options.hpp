// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/tool/bounce/bounce.hpp"

namespace CLI {  // NOLINT(readability-identifier-naming): the library's own
class App;
}

namespace nightlatch::tool {

/// `bounce` as it was typed.
struct BounceCommand {
    BounceOptions options;
    std::string chip;  ///< or CHIP:LINE or NAME, without a line
    std::string line;
    std::string bias;
    std::string pressed;
    std::string time;
    std::string quiet;
};

/// `bounce`'s part of the command line.
void add_bounce(CLI::App& app, BounceCommand& command);

/// Runs what was typed. 2: a word that is none.
int run_bounce(BounceCommand& command);

}  // namespace nightlatch::tool
