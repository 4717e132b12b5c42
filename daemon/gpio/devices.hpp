// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"

#include <string>

namespace nightlatch::gpio {

/// Tells when GPIO chips come, go, or change owner. By inotify(7) on /dev: the service's sandbox
/// has no netlink, by which udev would tell.
class Devices {
public:
    /// Trouble: other.
    static Result<Devices> watch(const std::string& directory = "/dev");

    Devices(Devices&& other) noexcept;
    Devices& operator=(Devices&& other) noexcept;
    Devices(const Devices&) = delete;
    Devices& operator=(const Devices&) = delete;
    ~Devices();

    /// For the event loop: readable when something in the directory changed.
    [[nodiscard]] int fd() const noexcept { return fd_; }

    /// Takes all that waits, without blocking. True: an entry gpiochip* came, went, or was given to
    /// somebody (udev sets the group after the kernel has made the node), or news were lost.
    bool changed();

private:
    explicit Devices(int fd) noexcept : fd_(fd) {}

    int fd_ = -1;
};

}  // namespace nightlatch::gpio
