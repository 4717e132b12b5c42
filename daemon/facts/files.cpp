// SPDX-License-Identifier: MIT
#include "daemon/facts/files.hpp"

#include "base/handle.hpp"
#include "base/text.hpp"

#include <algorithm>
#include <array>
#include <cerrno>
#include <charconv>
#include <climits>
#include <cstring>
#include <utility>

#include <dirent.h>
#include <fcntl.h>
#include <linux/openat2.h>
#include <sys/stat.h>
#include <sys/syscall.h>

namespace nightlatch::facts {
namespace {

constexpr std::size_t most_names = 65'536;

using Folder = Handle<DIR, closedir>;

Read<std::string> read_all(const std::string& path, int fd, std::size_t most) {
    std::string text;
    std::array<char, 16'384> bytes{};
    for (;;) {
        const ssize_t count = read(fd, bytes.data(), bytes.size());
        if (count < 0 && errno == EINTR) {
            continue;
        }
        if (count < 0) {
            return Unexpected{missing(path, errno)};
        }
        if (count == 0) {
            return text;
        }
        text.append(bytes.data(), static_cast<std::size_t>(count));
        if (text.size() > most) {
            return Unexpected{
                Missing{EFBIG, path + " (larger than " + std::to_string(most >> 10U) + " KiB)"}};
        }
    }
}

Unexpected<Missing> not_regular(const std::string& path) {
    return Unexpected{Missing{EINVAL, path + " (not a regular file)"}};
}

/// What the path leads to below the folder, by a descriptor that opens nothing [open(2), O_PATH].
Read<Descriptor> find_below(const std::string& root, const std::string& path, int flags) {
    const Descriptor folder(open(root.c_str(), O_PATH | O_DIRECTORY | O_CLOEXEC));
    if (folder.get() < 0) {
        return Unexpected{missing(root, errno)};
    }
    open_how how{};
    how.flags =
        static_cast<decltype(how.flags)>((flags & (O_DIRECTORY | O_NOFOLLOW)) | O_PATH | O_CLOEXEC);
    how.resolve = RESOLVE_IN_ROOT | RESOLVE_NO_MAGICLINKS;
    long fd = -1;
    // EAGAIN: something was moved just while a ".." was followed, and it may be asked again. glibc
    // has no function for it.
    constexpr int tries = 16;
    for (int i = 0; i < tries && fd < 0 && (i == 0 || errno == EAGAIN); ++i) {
        fd = syscall(SYS_openat2, folder.get(), path.c_str(), &how, sizeof how);
    }
    if (fd < 0) {
        return Unexpected{missing(root + path, errno)};
    }
    return Descriptor(static_cast<int>(fd));
}

/// Opens what was found, itself, whatever has been put in its place since.
Read<Descriptor> open_found(const Descriptor& found, const std::string& path, int flags) {
    struct stat status {};

    if (fstat(found.get(), &status) != 0) {
        return Unexpected{missing(path, errno)};
    }
    if (!S_ISREG(status.st_mode) && !S_ISDIR(status.st_mode)) {
        return not_regular(path);
    }
    const std::string itself = "/proc/self/fd/" + std::to_string(found.get());
    Descriptor file(open(itself.c_str(), flags & ~O_NOFOLLOW));
    if (file.get() < 0) {
        const int number = errno;
        return Unexpected{number == ENOENT ? missing("/proc", ENOENT) : missing(path, number)};
    }
    return file;
}

bool is_regular(const Descriptor& file) {
    struct stat status {};

    return fstat(file.get(), &status) == 0 && S_ISREG(status.st_mode);
}

}  // namespace

bool Missing::absent() const noexcept {
    return number == ENOENT || number == ENOTDIR;
}

Missing missing(const std::string& path, int number) {
    if (number == EACCES || number == EPERM) {
        return {number, path + " (denied: run as root)"};
    }
    if (number == ENOENT || number == ENOTDIR) {
        return {number, path + " (not there)"};
    }
    return {number, path + " (" + std::strerror(number) + ")"};
}

Read<Descriptor> open_below(const std::string& root, const std::string& path, int flags) {
    // O_NONBLOCK: a FIFO in a file's place must not hold us up.
    flags |= O_CLOEXEC | ((flags & O_PATH) == 0 ? O_NONBLOCK | O_NOCTTY : 0);
    if (root.empty()) {
        Descriptor file(open(path.c_str(), flags));
        if (file.get() < 0) {
            return Unexpected{missing(path, errno)};
        }
        return file;
    }
    Read<Descriptor> found = find_below(root, path, flags);
    return found && (flags & O_PATH) == 0 ? open_found(*found, root + path, flags)
                                          : std::move(found);
}

Read<std::string> read_file(const std::string& root, const std::string& path, std::size_t most) {
    const Read<Descriptor> file = open_below(root, path, O_RDONLY);
    if (!file) {
        return Unexpected{file.error()};
    }
    if (!is_regular(*file)) {
        return not_regular(root + path);
    }
    return read_all(root + path, file->get(), most);
}

Read<std::string> read_named_file(const std::string& path, std::size_t most) {
    // A FIFO that nobody writes to is empty, not waited for.
    const Read<Descriptor> file = open_below("", path, O_RDONLY);
    if (!file) {
        return Unexpected{file.error()};
    }
    fcntl(file->get(), F_SETFL, O_RDONLY);
    return read_all(path, file->get(), most);
}

Read<std::string> Budget::read(const std::string& root, const std::string& path) {
    if (files_ == 0 || bytes_ == 0) {
        return Unexpected{Missing{EFBIG, root + path + " (there are too many such files)"}};
    }
    Read<std::string> text = read_file(root, path, std::min(bytes_, most_file_bytes));
    if (!text && text.error().absent()) {
        return text;
    }
    --files_;
    const bool too_much = !text && text.error().number == EFBIG;
    bytes_ -= text ? text->size() : too_much ? bytes_ : 0;
    return text;
}

Read<std::string> read_value(const std::string& root, const std::string& path) {
    constexpr std::size_t most = 4'096;  // a page: sysfs's own limit
    const Read<std::string> text = read_file(root, path, most);
    if (!text) {
        return Unexpected{text.error()};
    }
    return std::string(trimmed(*text));
}

Read<long long> read_number(const std::string& root, const std::string& path) {
    const Read<std::string> text = read_value(root, path);
    if (!text) {
        return Unexpected{text.error()};
    }
    long long number = 0;
    const char* const end = text->data() + text->size();
    const auto [stopped, error] = std::from_chars(text->data(), end, number);
    if (error != std::errc{} || stopped != end) {
        return Unexpected{Missing{EINVAL, root + path + " (holds no number)"}};
    }
    return number;
}

Read<std::vector<std::string>> names_in(const std::string& root, const std::string& folder) {
    Read<Descriptor> fd = open_below(root, folder, O_RDONLY | O_DIRECTORY);
    if (!fd) {
        return Unexpected{fd.error()};
    }
    const Folder open_folder(fdopendir(fd->get()));
    if (!open_folder) {
        return Unexpected{missing(root + folder, errno)};
    }
    static_cast<void>(fd->release());  // closed with the folder
    std::vector<std::string> names;
    while (const dirent* entry = readdir(open_folder.get())) {
        const std::string_view name(entry->d_name);
        if (name == "." || name == "..") {
            continue;
        }
        if (names.size() == most_names) {
            return Unexpected{Missing{
                EFBIG, root + folder + " (more than " + std::to_string(most_names) + " entries)"}};
        }
        names.emplace_back(name);
    }
    std::sort(names.begin(), names.end());
    return names;
}

Read<std::vector<std::string>> class_devices(const std::string& root, const std::string& name) {
    const std::string classes = "/sys/class";
    Read<std::vector<std::string>> devices = names_in(root, classes + "/" + name);
    if (devices || !devices.error().absent()) {
        return devices;
    }
    // Without sysfs every class would seem to be empty.
    const Known<bool> sysfs = is_there(root, classes);
    if (sysfs && *sysfs) {
        return std::vector<std::string>{};
    }
    return Unexpected{missing(root + classes, ENOENT)};
}

Read<std::string> link_target(const std::string& root, const std::string& path) {
    const Read<Descriptor> link = open_below(root, path, O_PATH | O_NOFOLLOW);
    if (!link) {
        return Unexpected{link.error()};
    }
    std::array<char, PATH_MAX> target{};
    const ssize_t size = readlinkat(link->get(), "", target.data(), target.size());
    if (size < 0) {
        return Unexpected{missing(root + path, errno)};
    }
    return std::string(target.data(), static_cast<std::size_t>(size));
}

Known<bool> is_there(const std::string& root, const std::string& path) {
    const Read<Descriptor> file = open_below(root, path, O_PATH);
    if (!file && !file.error().absent()) {
        return Known<bool>::missing(file.error().text);
    }
    return file.has_value();
}

Read<FileStatus> status_of(const std::string& root, const std::string& path) {
    const Read<Descriptor> file = open_below(root, path, O_PATH);
    if (!file) {
        return Unexpected{file.error()};
    }

    struct stat status {};

    if (fstat(file->get(), &status) != 0) {
        return Unexpected{missing(root + path, errno)};
    }
    return FileStatus{status.st_mode, status.st_uid, status.st_gid};
}

std::vector<std::string> lines_of(std::string_view text) {
    std::vector<std::string> lines;
    while (!text.empty()) {
        const std::size_t end = std::min(text.find('\n'), text.size());
        lines.emplace_back(text.substr(0, end));
        text.remove_prefix(std::min(end + 1, text.size()));
    }
    return lines;
}

std::vector<std::string> words_of(std::string_view text) {
    std::vector<std::string> words;
    for (text = trimmed(text); !text.empty(); text = trimmed(text)) {
        const std::size_t end = std::min(text.find_first_of(white_space), text.size());
        words.emplace_back(text.substr(0, end));
        text.remove_prefix(end);
    }
    return words;
}

}  // namespace nightlatch::facts
