// SPDX-License-Identifier: MIT
#include "daemon/gpio/devices.hpp"

#include <array>
#include <cerrno>
#include <cstdint>
#include <cstring>
#include <string_view>
#include <system_error>
#include <utility>

#include <sys/inotify.h>
#include <unistd.h>

namespace nightlatch::gpio {
namespace {

bool is_news(const inotify_event& event, const char* name) {
    // IN_IGNORED: the directory itself is gone; IN_Q_OVERFLOW: news were lost [inotify(7)].
    if ((event.mask & (IN_Q_OVERFLOW | IN_IGNORED)) != 0) {
        return true;
    }
    return event.len > 0 && std::string_view(name).starts_with("gpiochip");
}

}  // namespace

Result<Devices> Devices::watch(const std::string& directory) {
    const int fd = inotify_init1(IN_NONBLOCK | IN_CLOEXEC);
    if (fd < 0) {
        const std::string why = std::system_category().message(errno);
        return Unexpected{
            Error{Trouble::other, "no inotify watch can be had (" + why + "): raise its limits"}};
    }
    Devices devices(fd);
    constexpr std::uint32_t coming_and_going =
        IN_CREATE | IN_DELETE | IN_ATTRIB | IN_MOVED_TO | IN_MOVED_FROM | IN_ONLYDIR;
    if (inotify_add_watch(fd, directory.c_str(), coming_and_going) < 0) {
        const std::string why = std::system_category().message(errno);
        return Unexpected{
            Error{Trouble::other,
                  directory + " cannot be watched (" + why + "): check that it is there"}};
    }
    return devices;
}

Devices::Devices(Devices&& other) noexcept : fd_(std::exchange(other.fd_, -1)) {}

Devices& Devices::operator=(Devices&& other) noexcept {
    std::swap(fd_, other.fd_);
    return *this;
}

Devices::~Devices() {
    if (fd_ >= 0) {
        close(fd_);
    }
}

bool Devices::changed() {
    bool news = false;
    alignas(inotify_event) std::array<char, 4096> buffer{};
    for (;;) {
        const ssize_t got = read(fd_, buffer.data(), buffer.size());
        if (got < 0 && errno == EINTR) {
            continue;
        }
        if (got <= 0) {
            return news;
        }
        for (std::size_t at = 0; at < static_cast<std::size_t>(got);) {
            inotify_event event{};
            std::memcpy(&event, buffer.data() + at, sizeof event);
            news = is_news(event, buffer.data() + at + sizeof event) || news;
            at += sizeof event + event.len;
        }
    }
}

}  // namespace nightlatch::gpio
