// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/tool/lines/watch.hpp"

namespace CLI {  // NOLINT(readability-identifier-naming): the library's own
class App;
}

namespace nightlatch::tool {

/// `lines` as it was typed, with and without --watch.
struct LinesCommand {
    LinesOptions list;
    WatchOptions watch;
    bool watching = false;
    std::string bias = "as-is";
    std::string time = "60 s";
};

/// `lines`'s part of the command line.
void add_lines(CLI::App& app, LinesCommand& command);

/// Runs what was typed. 2: a word that is none.
int run_lines(LinesCommand& command);

}  // namespace nightlatch::tool
