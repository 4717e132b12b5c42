// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/bus/sd_bus.hpp"

#include <optional>

/// What polkit is asked [its D-Bus reference, org.freedesktop.PolicyKit1.Authority].
namespace nightlatch::bus {

/// May this connection (its unique name) do what the action names? Nobody is asked for a password.
/// Null when out of memory or not connected.
MessageHandle authorization_question(sd_bus* bus, const char* subject, const char* action);

/// Polkit's answer; nothing where there is none, or no polkit.
std::optional<bool> authorization_in(sd_bus_message* reply);

}  // namespace nightlatch::bus
