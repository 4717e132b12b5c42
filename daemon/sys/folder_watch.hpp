// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"
#include "daemon/sys/fd.hpp"

#include <string>

namespace nightlatch::sys {

/// Tells when entries of a folder come, go, change owner or mode, or, where asked for, were
/// written. By inotify(7): for GPIO chips too, since the service's sandbox has no netlink, by which
/// udev would tell.
class FolderWatch {
public:
    enum class News : unsigned char {
        entries,   ///< not what is written into them: a device is written to all the time
        contents,  ///< also that a file was closed by who had it open to write
    };

    /// Entries whose names begin otherwise are no news. Trouble: other.
    static Result<FolderWatch> open(const std::string& folder, std::string beginning, News news);

    /// For the event loop: readable when something in the folder changed.
    [[nodiscard]] int fd() const noexcept { return fd_.get(); }

    /// Takes all that waits, without blocking. True: there was news, or news were lost.
    bool changed();

private:
    FolderWatch(Fd fd, std::string beginning) noexcept
        : fd_(std::move(fd)), beginning_(std::move(beginning)) {}

    Fd fd_;
    std::string beginning_;
};

}  // namespace nightlatch::sys
