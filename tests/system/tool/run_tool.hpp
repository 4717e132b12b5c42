// SPDX-License-Identifier: MIT
#pragma once

#include <string>

namespace nightlatch::test {

struct Ran {
    int status = -1;  ///< the exit status; -1 when it did not end by itself
    std::string out;
    std::string err;
};

/// Runs the built `nightlatch` with arguments as a shell reads them. `to`: where standard output
/// goes, as after a shell's '>'; kept in Ran::out where none is named.
Ran run_tool(const std::string& arguments, const std::string& to = "");

/// The same of a program of our choice: a copy of it elsewhere, say.
Ran run_program(const std::string& program,
                const std::string& arguments,
                const std::string& to = "");

std::string content(const std::string& path);
void write(const std::string& path, const std::string& text);

}  // namespace nightlatch::test
