// SPDX-License-Identifier: MIT
#pragma once

#include "audit/facts.hpp"

namespace nightlatch::facts {

/// The kernel's post-halt driver as far as anybody may see it and the service needs it:
/// `registered` and `bound`. It is named poweroff-gpio, can only be built in, and has a link in
/// its folder for each device whose probe succeeded [linux drivers/power/reset/gpio-poweroff.c
/// and Kconfig].
audit::PostHaltDriver read_post_halt_driver(const std::string& root);

}  // namespace nightlatch::facts
