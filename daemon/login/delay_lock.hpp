// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/bus/sd_bus.hpp"
#include "daemon/sys/event_loop.hpp"
#include "daemon/sys/fd.hpp"
#include "supervisor/ports/journal.hpp"

#include <string>

namespace nightlatch::login {

/// The standing delay inhibitor for shutdown: a descriptor that the login manager hands out and
/// watches; the lock lasts as long as it is open [org.freedesktop.login1(5), Inhibit()].
class DelayLock {
public:
    /// A refused one is asked for again after `first_pause`, doubled each time, up to a minute.
    DelayLock(sys::EventLoop& loop, ports::Journal& journal, Duration first_pause);

    void want(bool hold);

    /// There is a (new) manager to hold it with.
    void manager(sd_bus* bus, const std::string& owner);
    /// The manager is gone, and with it what it handed out.
    void no_manager();

    /// A shutdown was called off; a lock asked for while it ran was refused.
    void again() { update(); }

private:
    void update();
    void on_reply(sd_bus_message* reply);
    void try_later();

    sys::EventLoop& loop_;
    ports::Journal& journal_;
    sys::Timer later_;
    const Duration first_pause_;
    Duration pause_;
    sd_bus* bus_ = nullptr;
    std::string owner_;
    bool wanted_ = false;
    bool announced_ = false;
    bus::Slot call_;
    sys::Fd lock_;
};

}  // namespace nightlatch::login
