// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/bus/sd_bus.hpp"

#include <string>

/// The login manager's side of the bus [org.freedesktop.login1(5)].
namespace nightlatch::login {

constexpr const char* login_name = "org.freedesktop.login1";
constexpr const char* login_path = "/org/freedesktop/login1";
constexpr const char* login_interface = "org.freedesktop.login1.Manager";

/// A call of the login manager's Manager interface; null when out of memory or not connected.
inline bus::MessageHandle login_call(sd_bus* on,
                                     const std::string& destination,
                                     const char* member) {
    sd_bus_message* message = nullptr;
    if (on != nullptr) {
        sd_bus_message_new_method_call(
            on, &message, destination.c_str(), login_path, login_interface, member);
    }
    return bus::MessageHandle{message};
}

}  // namespace nightlatch::login
