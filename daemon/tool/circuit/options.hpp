// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/tool/circuit/circuit.hpp"

namespace CLI {  // NOLINT(readability-identifier-naming): the library's own
class App;
}

namespace nightlatch::tool {

/// `circuit`'s part of the command line.
void add_circuit(CLI::App& app, CircuitOptions& options);

}  // namespace nightlatch::tool
