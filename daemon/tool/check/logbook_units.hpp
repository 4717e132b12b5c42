// SPDX-License-Identifier: MIT
#pragma once

#include "config/diagnostic.hpp"
#include "config/settings.hpp"

#include <string>

namespace nightlatch::tool {

/// Whether the units that write the logbook reach it where it is not in their own folder.
struct LogbookReach {
    config::Diagnostics found;  ///< without places
    std::string
        install;  ///< what they lack, for a shell; "" when nothing, or another folder is due
};

/// Looks below `root` ("" for this machine).
LogbookReach find_logbook_reach(const config::LogbookSettings& logbook, const std::string& root);

}  // namespace nightlatch::tool
