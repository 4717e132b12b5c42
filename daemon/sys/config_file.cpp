// SPDX-License-Identifier: MIT
#include "daemon/sys/config_file.hpp"

#include <array>
#include <cerrno>
#include <cstring>

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

namespace nightlatch::sys {
namespace {

constexpr std::size_t most_bytes = 1 << 20;

/// Closes what it was given.
struct Descriptor {
    int fd;

    explicit Descriptor(int given) noexcept : fd(given) {}

    ~Descriptor() {
        if (fd >= 0) {
            close(fd);
        }
    }

    Descriptor(const Descriptor&) = delete;
    Descriptor& operator=(const Descriptor&) = delete;
};

Unexpected<Error> failed(const std::string& path, const char* what, int number) {
    std::string text = "cannot " + std::string(what) + " " + path + ": " + std::strerror(number);
    if (number == ENOENT) {
        return Unexpected{
            Error{Trouble::unsupported, std::move(text) + " (write one, or name another)"}};
    }
    return Unexpected{Error{number == EACCES ? Trouble::denied : Trouble::other, std::move(text)}};
}

/// For a person to change.
Unexpected<Error> refused(std::string text) {
    return Unexpected{Error{Trouble::unsupported, std::move(text)}};
}

std::string directory_of(const std::string& path) {
    const auto slash = path.rfind('/');
    if (slash == std::string::npos) {
        return ".";
    }
    return slash == 0 ? "/" : path.substr(0, slash);
}

std::optional<std::string> complaint_of(const std::string& path, int fd) {
    struct stat file {};

    if (fstat(fd, &file) != 0) {
        return "cannot look at " + path + ": " + std::strerror(errno);
    }
    if (auto text = why_not_trusted(path, file.st_mode, file.st_uid)) {
        return text;
    }
    const std::string directory = directory_of(path);

    struct stat folder {};

    if (stat(directory.c_str(), &folder) != 0) {
        return "cannot look at " + directory + ": " + std::strerror(errno);
    }
    return why_not_trusted(directory, folder.st_mode, folder.st_uid);
}

Result<std::string> read_all(const std::string& path, int fd) {
    std::string text;
    std::array<char, 4096> bytes{};
    for (;;) {
        const ssize_t count = read(fd, bytes.data(), bytes.size());
        if (count < 0 && errno == EINTR) {
            continue;
        }
        if (count < 0) {
            return failed(path, "read", errno);
        }
        if (count == 0) {
            return text;
        }
        text.append(bytes.data(), static_cast<std::size_t>(count));
        if (text.size() > most_bytes) {
            return refused(path + " is larger than 1 MiB");
        }
    }
}

}  // namespace

Result<std::string> read_config_file(const std::string& path, TrustPolicy policy) {
    // O_NONBLOCK: a FIFO in the file's place must not hold us up.
    const Descriptor file(open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY));
    if (file.fd < 0) {
        return failed(path, "open", errno);
    }

    struct stat status {};

    if (fstat(file.fd, &status) != 0 || !S_ISREG(status.st_mode)) {
        return refused(path + " is not a regular file");
    }
    if (policy == TrustPolicy::root_only) {
        if (auto text = complaint_of(path, file.fd)) {
            return refused(std::move(*text));
        }
    }
    return read_all(path, file.fd);
}

std::optional<std::string> why_not_trusted(const std::string& path) {
    const Descriptor file(open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY));
    if (file.fd < 0) {
        return std::nullopt;  // reading it says why
    }
    return complaint_of(path, file.fd);
}

// Sticky directories let nobody replace another's file.
std::optional<std::string> why_not_trusted(const std::string& path, mode_t mode, uid_t owner) {
    const bool sticky_directory = S_ISDIR(mode) && (mode & S_ISVTX) != 0;
    if (owner != 0) {
        return path + " belongs to user " + std::to_string(owner) +
               ", not to root; say: chown root:root " + path;
    }
    if ((mode & (S_IWGRP | S_IWOTH)) != 0 && !sticky_directory) {
        return path + " may be written by others than root; say: chmod go-w " + path;
    }
    return std::nullopt;
}

}  // namespace nightlatch::sys
