// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"
#include "config/load.hpp"
#include "daemon/tool/options.hpp"
#include "daemon/tool/service_config.hpp"
#include "page/page.hpp"

#include <array>
#include <optional>
#include <string>

namespace nightlatch::tool {

struct CheckOptions {
    std::optional<std::string> config;  ///< without one, the file that the service reads
    std::string root;                   ///< an image's folder to look below; "" for this machine
    bool json = false;
    bool print = false;
};

/// What `check` found: about the text, and about what surrounds it.
struct CheckReport {
    std::string file;
    config::Loaded loaded;
    config::Diagnostics circuit;  ///< about the values in [circuit]
    config::Diagnostics around;   ///< without places: line 0
    std::string install;          ///< what the logbook's units lack, for a shell
    bool refused = false;         ///< the service would not read the file as it stands
};

/// All that was found, in the order in which it is told.
inline std::array<const config::Diagnostics*, 4> lists_of(const CheckReport& report) {
    return {&report.loaded.diagnostics, &report.loaded.advice, &report.circuit, &report.around};
}

/// Reads and checks. Fails only when the file cannot be read.
Result<CheckReport> check(const CheckOptions& options);

/// The whole human answer: the verdict with the next action, what was found, worst first, and when
/// nothing is wrong what the configuration means in words.
std::string check_text(const CheckReport& report, const page::Style& style = {});

/// The same for programs; see nightlatch(1).
std::string check_json(const CheckReport& report);

/// 0 fine; 2 the configuration is wrong, or its file one that the service refuses; 1 neither, and
/// what surrounds it does not suit it.
int check_status(const CheckReport& report);

/// What `check` can be told.
void describe_check(Options& options, CheckOptions& into);

/// The command as a whole, to standard output and standard error. 2 also when the file cannot be
/// read.
int run_check(const CheckOptions& options);

}  // namespace nightlatch::tool
