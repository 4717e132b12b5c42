// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/tool/audit/audit.hpp"

namespace CLI {  // NOLINT(readability-identifier-naming): the library's own
class App;
}

namespace nightlatch::tool {

/// `audit`'s part of the command line.
void add_audit(CLI::App& app, AuditOptions& options);

}  // namespace nightlatch::tool
