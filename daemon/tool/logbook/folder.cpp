// SPDX-License-Identifier: MIT
#include "daemon/tool/logbook/folder.hpp"

#include "base/text.hpp"

#include <cerrno>
#include <chrono>
#include <cstdio>
#include <cstring>
#include <thread>

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

namespace nightlatch::tool {
namespace {

constexpr mode_t file_mode = 0644;

/// What a call that a signal cut short gives when it is made again.
template <class Call>
auto uninterrupted(Call call) {
    auto result = call();
    while (result < 0 && errno == EINTR) {
        result = call();
    }
    return result;
}

/// A record that goes over the end of a block costs ext4 20 KiB more, for what it writes down of
/// the new one. So room is taken in one piece, for a logbook of a few hundred runs; a file system
/// that cannot, or has none, writes as much more [fallocate(2)].
void keep_room(int file) {
    constexpr off_t room = off_t{1} << 20U;
    constexpr off_t block_of_status = 512;  // stat(2), st_blocks

    struct stat status {};

    if (fstat(file, &status) == 0 && status.st_blocks * block_of_status <= status.st_size + 4096) {
        (void)fallocate(file, FALLOC_FL_KEEP_SIZE, status.st_size, room);
    }
}

/// Nobody tells when a lock of flock(2) becomes free within a time: it is tried again and again.
bool lock(int folder, Duration patience) {
    const auto end = std::chrono::steady_clock::now() + patience;
    while (flock(folder, LOCK_EX | LOCK_NB) != 0) {
        if (errno != EINTR && (errno != EWOULDBLOCK || std::chrono::steady_clock::now() >= end)) {
            return false;
        }
        std::this_thread::sleep_for(std::chrono::milliseconds(20));
    }
    return true;
}

}  // namespace

Unexpected<Error> Folder::trouble(const std::string& name, int number) const {
    return Unexpected{
        Error{Trouble::other,
              safe(path_ + (name.empty() ? "" : "/" + name)) + ": " + std::strerror(number),
              number}};
}

Result<std::unique_ptr<Folder>> Folder::open(const std::string& path, Duration patience) {
    sys::Fd fd{::open(path.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC)};
    const bool there = static_cast<bool>(fd);
    std::unique_ptr<Folder> folder(new Folder(path, std::move(fd)));
    if (!there) {
        return folder->trouble("", errno);
    }
    if (!lock(folder->folder_.get(), patience)) {
        if (errno == EWOULDBLOCK) {
            return Unexpected{Error{
                Trouble::busy, safe(path) + ": another program writes to the logbook", errno}};
        }
        return folder->trouble("", errno);
    }
    return folder;
}

Result<std::optional<sys::Fd>> Folder::open_file(const std::string& name, int flags) {
    constexpr int always = O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC;  // a pipe must not hold us up
    std::optional<sys::Fd> file(std::in_place,
                                openat(folder_.get(), name.c_str(), flags | always, file_mode));
    if (!*file) {
        return errno == ENOENT ? Result<std::optional<sys::Fd>>(std::nullopt)
                               : trouble(name, errno);
    }

    struct stat status {};

    if (fstat(file->get(), &status) != 0) {
        return trouble(name, errno);
    }
    if (!S_ISREG(status.st_mode)) {
        return Unexpected{
            Error{Trouble::other, safe(path_ + "/" + name) + ": no regular file", EINVAL}};
    }
    return file;
}

Result<sys::Fd> Folder::open_there(const std::string& name, int flags) {
    auto file = open_file(name, flags);
    if (!file) {
        return Unexpected{file.error()};
    }
    if (!*file) {
        return trouble(name, ENOENT);
    }
    return std::move(**file);
}

Result<std::optional<std::string>> Folder::read(const std::string& name) {
    const auto file = open_file(name, O_RDONLY);
    if (!file) {
        return Unexpected{file.error()};
    }
    if (!*file) {
        return std::optional<std::string>{};
    }
    // That it was read is not to be written down: it would be a write to the card for each. Who
    // does not own the file may not ask for that [open(2), O_NOATIME].
    (void)fcntl((*file)->get(), F_SETFL, O_NOATIME | O_NONBLOCK);
    constexpr std::size_t most = std::size_t{64} << 20U;  // many thousand runs
    constexpr std::size_t step = std::size_t{64} << 10U;
    std::optional<std::string> text(std::in_place);
    for (ssize_t got = 1; got > 0;) {
        const std::size_t before = text->size();
        text->resize(before + step);
        got = uninterrupted([&] { return ::read((*file)->get(), text->data() + before, step); });
        if (got < 0 || text->size() > most) {
            return trouble(name, got < 0 ? errno : EFBIG);
        }
        text->resize(before + static_cast<std::size_t>(got));
    }
    return text;
}

/// Whatever the umask; and root's file would keep the account that owns the folder from writing on.
bool Folder::is_given_to_all(int file) const {
    struct stat status {};

    return fchmod(file, file_mode) == 0 && fstat(folder_.get(), &status) == 0 &&
           (geteuid() != 0 || fchown(file, status.st_uid, status.st_gid) == 0);
}

Outcome Folder::write_to(const std::string& name, int flags, std::string_view bytes) {
    const auto file = open_there(name, flags);
    if (!file) {
        return Unexpected{file.error()};
    }
    if ((flags & O_CREAT) != 0 && !is_given_to_all(file->get())) {
        return trouble(name, errno);
    }
    while (!bytes.empty()) {
        const ssize_t written =
            uninterrupted([&] { return write(file->get(), bytes.data(), bytes.size()); });
        if (written < 0) {
            return trouble(name, errno);
        }
        bytes.remove_prefix(static_cast<std::size_t>(written));
    }
    keep_room(file->get());
    return std::monostate{};
}

Outcome Folder::put(const std::string& name, std::string_view bytes) {
    return write_to(name, O_WRONLY | O_CREAT | O_TRUNC, bytes);
}

Outcome Folder::append(const std::string& name, std::string_view bytes) {
    return write_to(name, O_WRONLY | O_APPEND, bytes);
}

Outcome Folder::sync_data(const std::string& name) {
    const auto file = open_there(name, O_WRONLY);
    if (!file) {
        return Unexpected{file.error()};
    }
    return fdatasync(file->get()) == 0 ? Outcome(std::monostate{}) : trouble(name, errno);
}

Outcome Folder::sync(const std::string& name) {
    const auto file = open_there(name, O_WRONLY);
    if (!file) {
        return Unexpected{file.error()};
    }
    return fsync(file->get()) == 0 ? Outcome(std::monostate{}) : trouble(name, errno);
}

Outcome Folder::rename(const std::string& from, const std::string& to) {
    if (renameat(folder_.get(), from.c_str(), folder_.get(), to.c_str()) != 0) {
        return trouble(from, errno);
    }
    return std::monostate{};
}

Outcome Folder::sync_folder() {
    return fsync(folder_.get()) == 0 ? Outcome(std::monostate{}) : trouble("", errno);
}

}  // namespace nightlatch::tool
