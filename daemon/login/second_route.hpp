// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"
#include "core/settings.hpp"
#include "daemon/sys/event_loop.hpp"
#include "daemon/sys/fd.hpp"

#include <functional>
#include <string>

namespace nightlatch::login {

/// The way to a power-off without bus or polkit: a file in the service's own runtime directory,
/// which a root path unit watches for (PathExists=, systemd.path(5)). Its service removes the file
/// before it does anything else and stops if it cannot; we remove it when nobody has come. So
/// whoever removes it has it: a request that was withdrawn can no longer act, and one that was
/// taken up was not withdrawn.
class SecondRoute {
public:
    /// `done` is called once for each post() that succeeded, from the loop: was it taken up?
    SecondRoute(sys::EventLoop& loop,
                std::string directory,
                Duration pick_up,
                std::function<void(bool)> done);
    ~SecondRoute();
    SecondRoute(const SecondRoute&) = delete;
    SecondRoute& operator=(const SecondRoute&) = delete;

    /// Removes what an earlier run may have left, which must not act now, or a folder there.
    void clear();

    Outcome post(core::Action action);

    /// Takes back what nobody has taken up.
    void withdraw();

    [[nodiscard]] std::string file_for(core::Action action) const;

private:
    void look();
    void give_up();
    void finish(bool taken_up);

    std::string directory_;
    Duration pick_up_;
    std::function<void(bool)> done_;
    sys::EventLoop& loop_;
    sys::FdWatch watch_;
    sys::Timer patience_;
    sys::Fd inotify_;
    std::string file_;  ///< posted, and not known to be taken up; empty otherwise
};

}  // namespace nightlatch::login
