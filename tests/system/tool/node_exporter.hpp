// SPDX-License-Identifier: MIT
#pragma once

#include <string>

namespace nightlatch::test {

/// Why Debian's own collector does not read a file of metrics as they are meant; empty when it
/// does.
std::string against_node_exporter(const std::string& file);

}  // namespace nightlatch::test
