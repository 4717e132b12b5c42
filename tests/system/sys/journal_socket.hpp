// SPDX-License-Identifier: MIT
#pragma once

#include <cerrno>
#include <optional>
#include <string>

#include <catch2/catch_test_macros.hpp>
#include <fcntl.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

namespace nightlatch::test {

/// Stands in for the journal: a datagram socket that is read only when the test reads it.
class JournalSocket {
public:
    explicit JournalSocket(const std::string& path)
        : fd_(socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0)) {
        REQUIRE(fd_ >= 0);
        address_.sun_family = AF_UNIX;
        REQUIRE(path.size() < sizeof address_.sun_path);
        path.copy(address_.sun_path, path.size());
        REQUIRE(bind(fd_, generic(), sizeof address_) == 0);
    }

    JournalSocket(const JournalSocket&) = delete;
    JournalSocket& operator=(const JournalSocket&) = delete;

    ~JournalSocket() { close(fd_); }

    /// Until it takes no more.
    void fill() {
        const int sender = socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
        REQUIRE(sender >= 0);
        while (sendto(sender, "x", 1, 0, generic(), sizeof address_) == 1) {
        }
        REQUIRE(errno == EAGAIN);
        close(sender);
    }

    /// What waits in it; nothing when nothing does.
    [[nodiscard]] std::optional<std::string> take() const {
        char text[4096];
        const ssize_t size = recv(fd_, text, sizeof text, 0);
        return size < 0 ? std::nullopt
                        : std::optional(std::string(text, static_cast<std::size_t>(size)));
    }

private:
    sockaddr* generic() { return reinterpret_cast<sockaddr*>(&address_); }

    int fd_;
    sockaddr_un address_{};
};

/// What $JOURNAL_STREAM says when this file is the journal's stream.
inline std::string stream_of(int fd) {
    struct stat status {};

    REQUIRE(fstat(fd, &status) == 0);
    return std::to_string(status.st_dev) + ":" + std::to_string(status.st_ino);
}

}  // namespace nightlatch::test
