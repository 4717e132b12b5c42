// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/service/options.hpp"
#include "daemon/service/world.hpp"

namespace nightlatch::service {

/// Runs the service until it is told to stop. Gives the exit status: 0 stopped in order, 1 trouble
/// that may pass, 2 a configuration that somebody must correct.
int run_service(const Options& options, const World& world = {});

}  // namespace nightlatch::service
