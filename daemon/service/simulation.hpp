// SPDX-License-Identifier: MIT
#pragma once

#include "config/settings.hpp"
#include "daemon/service/options.hpp"
#include "rehearsal/press_script.hpp"

namespace nightlatch::service {

/// Runs the whole on a simulated chip, in real time, telling every step on stdout. Gives the exit
/// status. `script` is empty when lines are typed by hand.
int run_simulation(const Options& options,
                   config::Settings settings,
                   rehearsal::PressScript script);

}  // namespace nightlatch::service
