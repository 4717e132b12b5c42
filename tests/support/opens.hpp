// SPDX-License-Identifier: MIT
#pragma once

#include "base/ensure.hpp"

#include <array>
#include <cstddef>
#include <cstring>
#include <filesystem>
#include <string>

#include <sys/inotify.h>
#include <unistd.h>

namespace nightlatch::test {

/// Counts what is opened below a folder, by whichever call [inotify(7), IN_OPEN]: files, and
/// folders but the topmost. Folders that are made later are not seen into.
class OpensBelow {
public:
    explicit OpensBelow(const std::string& top) : fd_(inotify_init1(IN_NONBLOCK | IN_CLOEXEC)) {
        NIGHTLATCH_ENSURE(fd_ >= 0);
        watch(top);
        for (const auto& entry : std::filesystem::recursive_directory_iterator(top)) {
            if (entry.is_directory() && !entry.is_symlink()) {
                watch(entry.path().string());
            }
        }
        static_cast<void>(take());
    }

    OpensBelow(const OpensBelow&) = delete;
    OpensBelow& operator=(const OpensBelow&) = delete;

    ~OpensBelow() { close(fd_); }

    /// Since the last call. What is more than the kernel queues, 16,384 by default, is not counted.
    std::size_t take() {
        std::size_t opens = 0;
        alignas(inotify_event) std::array<char, 65'536> buffer{};
        for (ssize_t got = 0; (got = read(fd_, buffer.data(), buffer.size())) > 0;) {
            for (std::size_t at = 0; at < static_cast<std::size_t>(got);) {
                inotify_event event{};
                std::memcpy(&event, buffer.data() + at, sizeof event);
                opens += event.len > 0 ? 1 : 0;  // without a name: a folder's own, told twice
                at += sizeof event + event.len;
            }
        }
        return opens;
    }

private:
    void watch(const std::string& folder) const {
        NIGHTLATCH_ENSURE(inotify_add_watch(fd_, folder.c_str(), IN_OPEN | IN_ONLYDIR) >= 0);
    }

    int fd_;
};

}  // namespace nightlatch::test
