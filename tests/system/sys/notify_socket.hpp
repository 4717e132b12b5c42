// SPDX-License-Identifier: MIT
#pragma once

#include <cstdlib>
#include <string>
#include <string_view>

#include <catch2/catch_test_macros.hpp>
#include <poll.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

namespace nightlatch::test {

/// Sets an environment variable for as long as it lives.
class Environment {
public:
    Environment(const char* name, const std::string& value) : name_(name) {
        REQUIRE(setenv(name, value.c_str(), 1) == 0);
    }

    Environment(const Environment&) = delete;
    Environment& operator=(const Environment&) = delete;

    ~Environment() { unsetenv(name_); }

private:
    const char* name_;
};

/// Stands in for the service manager: the socket that $NOTIFY_SOCKET names. The address is in the
/// abstract name space and chosen by the kernel [unix(7), "Autobind feature"].
class NotifySocket {
public:
    NotifySocket() : fd_(socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0)) {
        REQUIRE(fd_ >= 0);
        sockaddr_un address{};
        address.sun_family = AF_UNIX;
        socklen_t size = sizeof(sa_family_t);
        auto* generic = reinterpret_cast<sockaddr*>(&address);
        REQUIRE(bind(fd_, generic, size) == 0);
        size = sizeof address;
        REQUIRE(getsockname(fd_, generic, &size) == 0);
        name_ = std::string(address.sun_path + 1, size - sizeof(sa_family_t) - 1);
    }

    NotifySocket(const NotifySocket&) = delete;
    NotifySocket& operator=(const NotifySocket&) = delete;

    ~NotifySocket() { close(fd_); }

    [[nodiscard]] int fd() const { return fd_; }

    [[nodiscard]] std::string address() const { return "@" + name_; }

    /// Waits for the next message, at most ten seconds.
    [[nodiscard]] std::string receive() const {
        pollfd waiting{fd_, POLLIN, 0};
        REQUIRE(poll(&waiting, 1, 10'000) == 1);
        char text[4096];
        const ssize_t size = recv(fd_, text, sizeof text, 0);
        REQUIRE(size >= 0);
        return {text, static_cast<std::size_t>(size)};
    }

private:
    int fd_;
    std::string name_;
};

}  // namespace nightlatch::test
