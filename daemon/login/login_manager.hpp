// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/bus/bus.hpp"
#include "daemon/sys/event_loop.hpp"
#include "supervisor/ports/journal.hpp"
#include "supervisor/ports/power.hpp"

#include <cstdint>
#include <functional>
#include <memory>
#include <string>

namespace nightlatch::login {

struct Options {
    /// Everything but the asking: connects, reads the list of locks, asks whether it would be let,
    /// and tells the journal what would have been asked. Takes no lock and touches no file.
    bool dry_run = false;
    /// The service's RuntimeDirectory=; a root path unit watches it for the second route's files.
    std::string second_route_directory = "/run/nightlatch";
    /// Runs as root, which the login manager lets pass other programs' locks without asking polkit
    /// unless told not to [org.freedesktop.login1(5), SD_LOGIND_ROOT_CHECK_INHIBITORS].
    bool as_root = false;
    /// Does something in the configuration in force ask past other programs' locks? Then the rule
    /// that lets us is in its place, also while something else respects them.
    std::function<bool()> passes_locks = [] { return false; };
    Duration bus_wait = std::chrono::seconds(5);      ///< for a bus that is not there when asking
    Duration preparation = std::chrono::seconds(20);  ///< nothing sent by then: refused, not asked
    Duration explanation = std::chrono::seconds(5);   ///< for what is read after a refusal
    Duration lock_pause = std::chrono::seconds(1);  ///< before a delay inhibitor is asked for anew
    Duration pick_up = std::chrono::seconds(10);    ///< for the path unit to take the file up
};

/// The login manager of the system bus, org.freedesktop.login1(5). Nothing here blocks: every call
/// is answered from the event loop. The bus may be absent at start, vanish and come back; all that
/// hangs on it is built up again. The request itself has no time-out: a call without an answer
/// cannot be recalled, and its answer is passed on whenever it comes.
///
/// With nobody to ask (there is no bus, or no login manager on it and none that it can start) a
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

    void ask(std::uint32_t request, core::Action action, core::Inhibitors inhibitors) override;
    void withdraw(std::uint32_t request) override;
    void ask_preparing(std::uint32_t question) override;
    void hold_delay(bool hold) override;

private:
    class Wiring;
    std::unique_ptr<Wiring> wiring_;
};

}  // namespace nightlatch::login
