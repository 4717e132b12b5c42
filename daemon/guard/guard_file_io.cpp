// SPDX-License-Identifier: MIT
#include "daemon/guard/guard_file.hpp"

#include <array>
#include <cerrno>
#include <cstdio>
#include <cstring>

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

namespace nightlatch::guard {
namespace {

/// The longest line that parses has 66 bytes.
constexpr std::size_t too_long = 128;

class OpenFile {
public:
    explicit OpenFile(int fd) noexcept : fd_(fd) {}

    OpenFile(const OpenFile&) = delete;
    OpenFile& operator=(const OpenFile&) = delete;

    ~OpenFile() {
        if (fd_ >= 0) {
            close(fd_);
        }
    }

    [[nodiscard]] int fd() const noexcept { return fd_; }

private:
    int fd_;
};

Unexpected<Error> odd(const std::string& path, const char* what) {
    return Unexpected{Error{Trouble::other, path + ": " + what}};
}

}  // namespace

Outcome write_guard_file(const std::string& path, const GuardFile& file) {
    const std::string text = guard_text(file);
    if (parse_guard_text(text) == std::nullopt) {
        return odd(path, "this line cannot be waited for at the end of a shutdown");
    }
    const std::string fresh = path + ".new";
    unlink(fresh.c_str());  // left over from a crash, perhaps
    {
        const OpenFile out(open(fresh.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0644));
        const ssize_t written = out.fd() < 0 ? -1 : write(out.fd(), text.data(), text.size());
        if (written != static_cast<ssize_t>(text.size())) {
            return odd(path, "cannot be written: check the unit's RuntimeDirectory=");
        }
    }
    if (std::rename(fresh.c_str(), path.c_str()) != 0) {
        return odd(path, "cannot be put in place: check the unit's RuntimeDirectory=");
    }
    return std::monostate{};
}

void remove_guard_file(const std::string& path) noexcept {
    unlink(path.c_str());
}

Result<GuardFile> read_guard_file(const std::string& path) {
    // O_NONBLOCK: a FIFO in its place must not hold up the shutdown.
    const OpenFile in(open(path.c_str(), O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC));
    if (in.fd() < 0) {
        return odd(path, errno == ENOENT ? "not there" : std::strerror(errno));
    }

    struct stat status {};

    if (fstat(in.fd(), &status) != 0 || !S_ISREG(status.st_mode)) {
        return odd(path, "no regular file");
    }
    std::array<char, too_long> text{};
    const ssize_t got = read(in.fd(), text.data(), text.size());
    if (got < 0 || got == static_cast<ssize_t>(text.size())) {
        return odd(path, "too long, or not readable");
    }
    std::optional<GuardFile> file = parse_guard_text({text.data(), static_cast<std::size_t>(got)});
    if (!file) {
        return odd(path, "not what the service writes");
    }
    return std::move(*file);
}

}  // namespace nightlatch::guard
