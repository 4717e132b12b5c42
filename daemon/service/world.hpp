// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/gpio/gpiod.hpp"
#include "daemon/sys/config_file.hpp"
#include "daemon/sys/event_loop.hpp"
#include "daemon/sys/journal.hpp"

#include <functional>
#include <string>

namespace nightlatch::service {

/// What the service finds around it: this machine, another only in tests.
struct World {
    gpio::Places gpio;
    std::string leds = "/sys/class/leds";
    std::string journal_socket = sys::journal_socket;
    sys::TrustPolicy trust = sys::TrustPolicy::root_only;  ///< in the configuration, by a real run
    std::function<void(sys::EventLoop&)> beside;  ///< called before the loop runs, if it is there
};

}  // namespace nightlatch::service
