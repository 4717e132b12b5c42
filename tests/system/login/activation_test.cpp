// SPDX-License-Identifier: MIT
#include "daemon/login/activation.hpp"

#include <string>

#include <catch2/catch_test_macros.hpp>
#include <catch2/generators/catch_generators.hpp>

using nightlatch::login::cannot_be_started;

namespace {

const std::string bus_error = "org.freedesktop.DBus.Error.";
const std::string unit_error = "org.freedesktop.systemd1.";

}  // namespace

TEST_CASE("a start that nothing can come of is told from one that failed or took too long") {
    for (const std::string& name : {unit_error + "UnitMasked",
                                    unit_error + "NoSuchUnit",
                                    bus_error + "ServiceUnknown",
                                    bus_error + "NameHasNoOwner",
                                    bus_error + "Spawn.ServiceNotFound",
                                    bus_error + "Spawn.FileInvalid"}) {
        CAPTURE(name);
        CHECK(cannot_be_started(name, "whatever it says"));
    }
    for (const std::string& name : {bus_error + "Spawn.ChildExited",
                                    bus_error + "Spawn.ChildSignaled",
                                    bus_error + "Spawn.NoMemory",
                                    bus_error + "TimedOut",
                                    bus_error + "NoReply",
                                    bus_error + "AccessDenied",
                                    unit_error + "ShuttingDown",
                                    std::string()}) {
        CAPTURE(name);
        CHECK_FALSE(cannot_be_started(name, "unit is masked"));
    }
}

TEST_CASE("a unit that cannot be read is one that nothing can come of, whatever the error") {
    // What systemd 257 says of the login manager's alias when the login manager is masked.
    CHECK(cannot_be_started(bus_error + "FileExists",
                            "Unit dbus-org.freedesktop.login1.service failed to load properly, "
                            "please adjust/correct and reload service manager: File exists"));
    CHECK(cannot_be_started(unit_error + "BadUnitSetting", "it has a bad unit file setting"));
    CHECK_FALSE(cannot_be_started(bus_error + "FileExists", "File exists"));
}

TEST_CASE("the other bus program has one name for every start that failed: its text decides") {
    const std::string name = bus_error + "NameHasNoOwner";
    const std::string tried = "Could not activate remote peer 'org.freedesktop.login1'";
    CHECK(cannot_be_started(name, tried + ": activation request failed: unit is masked"));
    CHECK(cannot_be_started(name, tried + ": activation request failed: unknown unit"));
    CHECK_FALSE(cannot_be_started(name, tried + ": startup job failed"));
    CHECK_FALSE(cannot_be_started(name, tried + ": unit failed"));
    CHECK_FALSE(cannot_be_started(name, tried));
}
