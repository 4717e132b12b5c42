// SPDX-License-Identifier: MIT
#pragma once

#include <utility>

#include <unistd.h>

namespace nightlatch::sys {

/// Owns a file descriptor.
class Fd {
public:
    Fd() = default;

    explicit Fd(int fd) noexcept : fd_(fd) {}

    Fd(Fd&& other) noexcept : fd_(std::exchange(other.fd_, -1)) {}

    Fd& operator=(Fd&& other) noexcept {
        std::swap(fd_, other.fd_);
        return *this;
    }

    Fd(const Fd&) = delete;
    Fd& operator=(const Fd&) = delete;

    ~Fd() { reset(); }

    explicit operator bool() const noexcept { return fd_ >= 0; }

    [[nodiscard]] int get() const noexcept { return fd_; }

    void reset() noexcept {
        if (fd_ >= 0) {
            close(std::exchange(fd_, -1));
        }
    }

private:
    int fd_ = -1;
};

}  // namespace nightlatch::sys
