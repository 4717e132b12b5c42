// SPDX-License-Identifier: MIT
#include "daemon/login/activation.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::login {
namespace {

constexpr std::array<std::string_view, 9> final_errors{
    // The service manager's, passed on by the bus [systemd src/core/dbus.c, where
    // signal_activation_request answers with ActivationFailure; src/core/dbus-unit.c,
    // bus_unit_validate_load_state; dbus bus/activation.c, dbus_activation_systemd_failure].
    "org.freedesktop.systemd1.UnitMasked",
    "org.freedesktop.systemd1.NoSuchUnit",
    "org.freedesktop.systemd1.BadUnitSetting",
    // The bus's own: the name has no service file, or one that no start can come of, or a program
    // that is not there [dbus-protocol.h, DBUS_ERROR_SPAWN_*; dbus bus/activation.c].
    "org.freedesktop.DBus.Error.ServiceUnknown",
    "org.freedesktop.DBus.Error.Spawn.ServiceNotFound",
    "org.freedesktop.DBus.Error.Spawn.ServiceNotValid",
    "org.freedesktop.DBus.Error.Spawn.FileInvalid",
    "org.freedesktop.DBus.Error.Spawn.PermissionsInvalid",
    "org.freedesktop.DBus.Error.Spawn.ExecFailed",
};

// Not among them: Spawn.ChildExited and Spawn.ChildSignaled (it ran: the next start may go better),
// Spawn.ForkFailed, Spawn.NoMemory, Spawn.FailedToSetup, Spawn.Failed, LimitsExceeded (a want of
// something at this moment), TimedOut and NoReply (nothing is known),
// org.freedesktop.systemd1.ShuttingDown (the machine goes down already).

/// dbus-broker has this one name for whatever came of a start, and its text says which
/// [dbus-broker src/bus/driver.c and src/broker/controller.h, CONTROLLER_NAME_ERROR_*]. Without
/// "could not activate" the name is what it says: of nobody.
constexpr std::string_view no_owner = "org.freedesktop.DBus.Error.NameHasNoOwner";

/// A unit that cannot be read has an errno for a name, and only the text says what it is about. So
/// has an alias of a masked unit, which is what the login manager is activated by: seen with
/// systemd 257 as org.freedesktop.DBus.Error.FileExists
/// [systemd src/core/dbus-unit.c, bus_unit_validate_load_state, UNIT_ERROR].
constexpr std::string_view unreadable_unit = "failed to load properly";

bool holds(std::string_view text, std::string_view part) {
    return text.find(part) != std::string_view::npos;
}

}  // namespace

bool cannot_be_started(std::string_view name, std::string_view text) noexcept {
    if (name == no_owner) {
        return !holds(text, "Could not activate") || holds(text, "unit is masked") ||
               holds(text, "unknown unit");
    }
    return holds(text, unreadable_unit) ||
           std::find(final_errors.begin(), final_errors.end(), name) != final_errors.end();
}

}  // namespace nightlatch::login
