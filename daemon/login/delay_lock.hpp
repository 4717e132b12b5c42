// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/bus/sd_bus.hpp"
#include "daemon/sys/fd.hpp"
#include "supervisor/ports/journal.hpp"

#include <string>

namespace nightlatch::login {

/// The standing delay inhibitor for shutdown: a descriptor that the login manager hands out and
/// watches; the lock lasts as long as it is open [org.freedesktop.login1(5), Inhibit()].
class DelayLock {
public:
    explicit DelayLock(ports::Journal& journal) : journal_(journal) {}

    void want(bool hold);

    /// There is a (new) manager to hold it with.
    void manager(sd_bus* bus, const std::string& owner);
    /// The manager is gone, and with it what it handed out.
    void no_manager();
    /// A shutdown was called off; a lock asked for while it ran was refused.
    void again();

private:
    void update();
    void on_reply(sd_bus_message* reply);

    ports::Journal& journal_;
    sd_bus* bus_ = nullptr;
    std::string owner_;
    bool wanted_ = false;
    bool announced_ = false;
    bus::Slot call_;
    sys::Fd lock_;
};

}  // namespace nightlatch::login
