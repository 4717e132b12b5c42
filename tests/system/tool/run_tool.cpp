// SPDX-License-Identifier: MIT
#include "run_tool.hpp"

#include "support/temporary_directory.hpp"

#include <cstdlib>
#include <fstream>
#include <iterator>

#include <sys/wait.h>

namespace nightlatch::test {

Ran run_tool(const std::string& arguments, const std::string& to) {
    return run_program(NIGHTLATCH, arguments, to);
}

Ran run_program(const std::string& program, const std::string& arguments, const std::string& to) {
    const TemporaryDirectory folder;
    const std::string out = to.empty() ? folder.path() + "/out" : to;
    const std::string err = folder.path() + "/err";
    const int ended =
        std::system((program + " " + arguments + " >" + out + " 2>" + err + " </dev/null").c_str());
    return {
        WIFEXITED(ended) ? WEXITSTATUS(ended) : -1, to.empty() ? content(out) : "", content(err)};
}

std::string content(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
}

void write(const std::string& path, const std::string& text) {
    std::ofstream(path, std::ios::binary) << text;
}

}  // namespace nightlatch::test
