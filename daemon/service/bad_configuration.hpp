// SPDX-License-Identifier: MIT
#pragma once

#include "config/settings.hpp"
#include "daemon/service/world.hpp"

#include <vector>

namespace nightlatch::service {

/// The service cannot start with its configuration: shows the cue `fault` on these outputs for a
/// while, or until it is told to stop, and leaves it standing on LEDs.
void show_bad_configuration(const World& world,
                            ports::Journal& journal,
                            const std::vector<config::Feedback>& feedback);

}  // namespace nightlatch::service
