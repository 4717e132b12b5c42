// SPDX-License-Identifier: MIT
#include "daemon/sys/folder_watch.hpp"

#include <array>
#include <cerrno>
#include <cstdint>
#include <cstring>
#include <string_view>
#include <system_error>
#include <utility>

#include <sys/inotify.h>

namespace nightlatch::sys {
namespace {

bool is_news(const inotify_event& event, const char* name, std::string_view beginning) {
    // IN_IGNORED: the folder itself is gone; IN_Q_OVERFLOW: news were lost [inotify(7)].
    if ((event.mask & (IN_Q_OVERFLOW | IN_IGNORED)) != 0) {
        return true;
    }
    return event.len > 0 && std::string_view(name).starts_with(beginning);
}

}  // namespace

Result<FolderWatch> FolderWatch::open(const std::string& folder, std::string beginning, News news) {
    Fd fd{inotify_init1(IN_NONBLOCK | IN_CLOEXEC)};
    if (!fd) {
        const std::string why = std::system_category().message(errno);
        return Unexpected{Error{Trouble::other,
                                "cannot watch files with inotify (" + why + "): raise its limits"}};
    }
    std::uint32_t wanted =
        IN_CREATE | IN_DELETE | IN_ATTRIB | IN_MOVED_TO | IN_MOVED_FROM | IN_ONLYDIR;
    if (news == News::contents) {
        wanted |= IN_CLOSE_WRITE;
    }
    if (inotify_add_watch(fd.get(), folder.c_str(), wanted) < 0) {
        const std::string why = std::system_category().message(errno);
        return Unexpected{Error{
            Trouble::other, folder + " cannot be watched (" + why + "): check that it is there"}};
    }
    return FolderWatch{std::move(fd), std::move(beginning)};
}

bool FolderWatch::changed() {
    bool news = false;
    alignas(inotify_event) std::array<char, 4096> buffer{};
    for (;;) {
        const ssize_t got = read(fd_.get(), buffer.data(), buffer.size());
        if (got < 0 && errno == EINTR) {
            continue;
        }
        if (got <= 0) {
            return news;
        }
        for (std::size_t at = 0; at < static_cast<std::size_t>(got);) {
            inotify_event event{};
            std::memcpy(&event, buffer.data() + at, sizeof event);
            news = is_news(event, buffer.data() + at + sizeof event, beginning_) || news;
            at += sizeof event + event.len;
        }
    }
}

}  // namespace nightlatch::sys
