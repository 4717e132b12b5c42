// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/bus/bus.hpp"
#include "daemon/sys/event_loop.hpp"
#include "supervisor/ports/journal.hpp"
#include "supervisor/ports/power.hpp"

#include <memory>
#include <string>

namespace nightlatch::login {

struct Options {
    /// Everything but the asking: connects, holds the delay inhibitor, reads the list of locks,
    /// tells the journal what would have been asked, and answers with a refusal that says so.
    bool dry_run = false;
    /// The service's RuntimeDirectory=; a root path unit watches it for the second route's files.
    std::string second_route_directory = "/run/nightlatch";
    /// Runs as root, which the login manager lets pass other programs' locks without asking polkit
    /// unless told not to [org.freedesktop.login1(5), SD_LOGIND_ROOT_CHECK_INHIBITORS].
    bool as_root = false;
    Duration bus_wait = std::chrono::seconds(5);      ///< for a bus that is not there when asking
    Duration preparation = std::chrono::seconds(20);  ///< nothing sent by then: refused, not asked
    Duration explanation = std::chrono::seconds(5);   ///< for the list of locks after a refusal
    Duration pick_up = std::chrono::seconds(10);      ///< for the path unit to take the file up
};

/// The login manager of the system bus, org.freedesktop.login1(5). Nothing here blocks: every call
/// is answered from the event loop. The bus may be absent at start, vanish and come back; all that
/// hangs on it is built up again. The request itself has no time-out: a call without an answer
/// cannot be recalled, and its answer is passed on whenever it comes.
///
/// With nobody to ask (the bus has no login manager and can start none, or there is no bus) a
/// power-off takes the second route: a file that a root path unit watches for.
class LoginManager final : public ports::Power {
public:
    /// All that it is given must outlive it. Becomes a user of the bus, which it does not start.
    struct Surroundings {
        sys::EventLoop& loop;
        bus::Bus& bus;
        ports::PowerListener& listener;
        ports::Journal& journal;
    };

    LoginManager(const Surroundings& surroundings, Options options);
    ~LoginManager() override;
    LoginManager(const LoginManager&) = delete;
    LoginManager& operator=(const LoginManager&) = delete;

    /// Before the bus is started. May be preceded by hold_delay().
    void start();

    void ask(core::Action action, core::Inhibitors inhibitors) override;
    void hold_delay(bool hold) override;

private:
    class Wiring;
    std::unique_ptr<Wiring> wiring_;
};

}  // namespace nightlatch::login
