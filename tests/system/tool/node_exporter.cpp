// SPDX-License-Identifier: MIT
#include "node_exporter.hpp"

#include "desk.hpp"

namespace nightlatch::test {

std::string against_node_exporter(const std::string& file) {
    const Desk desk;
    const std::string said = desk.path("collector");
    const int ended = std::system(
        (PYTHON " " TREE "/tests/system/tool/node_exporter.py " + file + " >" + said + " 2>&1")
            .c_str());
    const std::string why = content(said);
    return ended == 0 ? "" : why.empty() ? "the collector failed" : why;
}

}  // namespace nightlatch::test
