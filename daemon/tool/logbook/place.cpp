// SPDX-License-Identifier: MIT
#include "config/load.hpp"
#include "daemon/sys/config_file.hpp"
#include "daemon/tool/logbook/logbook.hpp"
#include "daemon/tool/service_config.hpp"

#include <algorithm>

namespace nightlatch::tool {

LogbookFile logbook_file(const LogbookOptions& options) {
    const std::string named = options.config.value_or(default_config);
    const auto text = sys::read_config_file(named, sys::TrustPolicy::anybody);
    const config::LoadedLogbook loaded =
        text ? config::load_logbook(*text) : config::LoadedLogbook{};
    LogbookFile file{options.file.value_or(loaded.settings.path), loaded.settings.keep};
    const auto wrong =
        std::find_if(loaded.diagnostics.begin(), loaded.diagnostics.end(), [](const auto& one) {
            return one.severity == Severity::error;
        });
    if (wrong != loaded.diagnostics.end()) {
        file.trouble = config::to_text(*wrong, named);
    }
    return file;
}

}  // namespace nightlatch::tool
