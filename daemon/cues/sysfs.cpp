// SPDX-License-Identifier: MIT
#include "daemon/cues/sysfs.hpp"

#include <array>
#include <cerrno>

#include <fcntl.h>
#include <unistd.h>

namespace nightlatch::cues {

namespace {

/// A descriptor for the length of a function.
class OpenFile {
public:
    OpenFile(const std::string& path, int flags) : fd_(open(path.c_str(), flags | O_CLOEXEC)) {}

    OpenFile(const OpenFile&) = delete;
    OpenFile& operator=(const OpenFile&) = delete;
    OpenFile(OpenFile&&) = delete;
    OpenFile& operator=(OpenFile&&) = delete;

    ~OpenFile() {
        if (fd_ >= 0) {
            close(fd_);
        }
    }

    [[nodiscard]] int fd() const noexcept { return fd_; }

private:
    int fd_;
};

}  // namespace

FileRead read_file(const std::string& path) {
    const OpenFile file{path, O_RDONLY};
    if (file.fd() < 0) {
        return {errno, {}};
    }
    FileRead got;
    std::array<char, 4096> part{};
    while (true) {
        const ssize_t size = read(file.fd(), part.data(), part.size());
        if (size < 0) {
            return {errno, {}};
        }
        if (size == 0) {
            return got;
        }
        got.text.append(part.data(), static_cast<std::size_t>(size));
    }
}

int write_file(const std::string& path, std::string_view text) {
    const OpenFile file{path, O_WRONLY | O_TRUNC};
    if (file.fd() < 0) {
        return errno;
    }
    return write(file.fd(), text.data(), text.size()) < 0 ? errno : 0;
}

}  // namespace nightlatch::cues
