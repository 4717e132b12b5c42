// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/facts/files.hpp"

#include <span>

namespace nightlatch::facts {

/// The paths of the files "*.conf" of several folders in the order in which they hold, the last one
/// last: by their names, whichever folder they are in. A file hides those of its name in the
/// folders after its own, and a link to /dev/null takes its name out [systemd-system.conf(5),
/// sysctl.d(5)]. A folder that is not there has none.
Read<std::vector<std::string>> drop_ins(const std::string& root,
                                        std::span<const std::string> folders);

}  // namespace nightlatch::facts
