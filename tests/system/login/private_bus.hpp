// SPDX-License-Identifier: MIT
#pragma once

#include <string>

#include <sys/types.h>

namespace nightlatch::test {

/// A message bus of the test's own (dbus-daemon) in a directory of its own. While it lives,
/// $DBUS_SYSTEM_BUS_ADDRESS points to its socket, whether or not it runs.
class PrivateBus {
public:
    PrivateBus();
    ~PrivateBus();
    PrivateBus(const PrivateBus&) = delete;
    PrivateBus& operator=(const PrivateBus&) = delete;

    void start();
    /// Ends it at once, as a crash would.
    void stop();

    /// Before start(): the bus can start `program` to get an owner for `name`.
    void can_start(const std::string& name, const std::string& program) const;

    /// Before start(): the bus asks the service manager, FakeActivator, to start this unit for it.
    void can_start_by_unit(const std::string& name, const std::string& unit);

    /// Before start(): as restrictive as the system bus, but for what this policy file allows.
    void obey(const std::string& policy_file) const;

    /// It reads and writes nothing until thaw().
    void freeze() const;
    void thaw() const;

    [[nodiscard]] const std::string& directory() const { return directory_; }

private:
    std::string directory_;
    pid_t daemon_ = 0;
    bool starts_units_ = false;
};

}  // namespace nightlatch::test
