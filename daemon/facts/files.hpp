// SPDX-License-Identifier: MIT
#pragma once

#include "base/known.hpp"
#include "base/result.hpp"

#include <cstdint>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <sys/types.h>
#include <unistd.h>

/// Files below a root: "" for this machine, else a folder that holds an image or a test's made
/// files. Below a folder a link leads nowhere out of it: absolute ones begin at the folder
/// [openat2(2), RESOLVE_IN_ROOT]. Nothing is read without a bound.
namespace nightlatch::facts {

/// Why something could not be read: a noun phrase for Known::missing, "/x/y (denied: run as root)".
struct Missing {
    int number = 0;  ///< errno
    std::string text;

    /// It is not there at all, rather than kept from us.
    [[nodiscard]] bool absent() const noexcept;
};

template <class T>
using Read = Result<T, Missing>;

template <class T>
Known<T> known(Read<T> read) {
    return read ? Known<T>(std::move(*read)) : Known<T>::missing(read.error().text);
}

inline constexpr std::size_t most_file_bytes = std::size_t{1} << 20U;

/// "PATH (not there)", "PATH (denied: run as root)", "PATH (the system's words)".
Missing missing(const std::string& path, int number);

/// Owns a file descriptor.
class Descriptor {
public:
    explicit Descriptor(int fd) noexcept : fd_(fd) {}

    Descriptor(Descriptor&& other) noexcept : fd_(other.release()) {}

    Descriptor(const Descriptor&) = delete;
    Descriptor& operator=(const Descriptor&) = delete;
    Descriptor& operator=(Descriptor&&) = delete;

    ~Descriptor() {
        if (fd_ >= 0) {
            close(fd_);
        }
    }

    [[nodiscard]] int get() const noexcept { return fd_; }

    int release() noexcept { return std::exchange(fd_, -1); }

private:
    int fd_;
};

/// Opens without waiting for anybody and without a terminal; `flags` as open(2)'s. Below a folder
/// only a regular file or a folder is opened: opening a device can be a deed (a watchdog's arms it
/// [Linux Documentation/watchdog/watchdog-api.rst]), and who audits is root.
Read<Descriptor> open_below(const std::string& root, const std::string& path, int flags);

/// A regular file's bytes. More than `most` are an error: what was cut would be judged as if it
/// were whole.
Read<std::string> read_file(const std::string& root,
                            const std::string& path,
                            std::size_t most = most_file_bytes);

/// Of a file that the person named, which may be a pipe: who writes into it is waited for, but not
/// that somebody does.
Read<std::string> read_named_file(const std::string& path, std::size_t most);

/// Bounds the sum where how many files there are is not ours to say.
class Budget {
public:
    Budget(std::size_t files, std::size_t bytes) noexcept : files_(files), bytes_(bytes) {}

    /// As read_file(); past the budget nothing is opened any more.
    Read<std::string> read(const std::string& root, const std::string& path);

private:
    std::size_t files_;
    std::size_t bytes_;
};

/// Of boot files, of rules, of drop-ins: ten times what a system has.
inline Budget usual_budget() noexcept {
    return {256, std::size_t{4} << 20U};
}

/// A file of one value: without white space around it.
Read<std::string> read_value(const std::string& root, const std::string& path);

/// A file of one decimal number.
Read<long long> read_number(const std::string& root, const std::string& path);

/// The names in a folder, sorted.
Read<std::vector<std::string>> names_in(const std::string& root, const std::string& folder);

/// The devices of a class of sysfs, sorted: none when the kernel knows no such class.
Read<std::vector<std::string>> class_devices(const std::string& root, const std::string& name);

/// Where a symbolic link points, as it says itself.
Read<std::string> link_target(const std::string& root, const std::string& path);

Known<bool> is_there(const std::string& root, const std::string& path);

struct FileStatus {
    mode_t mode = 0;
    uid_t uid = 0;
    gid_t gid = 0;
};

Read<FileStatus> status_of(const std::string& root, const std::string& path);

/// A text's lines without their ends.
std::vector<std::string> lines_of(std::string_view text);

/// The words between white space.
std::vector<std::string> words_of(std::string_view text);

}  // namespace nightlatch::facts
