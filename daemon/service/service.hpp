// SPDX-License-Identifier: MIT
#pragma once

#include "config/settings.hpp"
#include "daemon/service/options.hpp"

namespace nightlatch::service {

/// Runs the service until it is told to stop. Gives the exit status.
int run_service(const Options& options);

/// The configuration read and checked, every problem told on the way; nothing when it is bad.
/// `trusted_only`: a file that others than root may write is refused.
std::optional<config::Settings> load_settings(const Options& options, bool trusted_only);

}  // namespace nightlatch::service
