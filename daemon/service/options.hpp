// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"

#include <optional>
#include <string>

namespace nightlatch::service {

struct Options {
    std::string config = "/etc/nightlatch/nightlatch.toml";
    std::optional<std::string> simulated;  ///< a press script, or "-" for lines typed by hand
    bool dry_run = false;                  ///< --dry-run, or simulated and not for real
    bool for_real = false;                 ///< a simulated run's requests go to this machine
    bool help = false;
    bool version = false;
};

/// Reads the command line; an error is a sentence for a person who mistyped.
Result<Options> parse_options(int argc, char** argv);

const char* help_text() noexcept;

}  // namespace nightlatch::service
