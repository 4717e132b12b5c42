// SPDX-License-Identifier: MIT
#pragma once

#include <string>

namespace nightlatch::test {

struct Ran {
    int status = -1;  ///< the exit status; -1 when it did not end by itself
    std::string out;
    std::string err;
};

/// Runs the built `nightlatch` with arguments as a shell reads them.
Ran run_tool(const std::string& arguments);

std::string content(const std::string& path);
void write(const std::string& path, const std::string& text);

}  // namespace nightlatch::test
