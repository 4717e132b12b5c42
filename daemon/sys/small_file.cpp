// SPDX-License-Identifier: MIT
#include "daemon/sys/small_file.hpp"

#include "daemon/sys/fd.hpp"

#include <cerrno>
#include <cstdio>
#include <cstring>

#include <fcntl.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <unistd.h>

// Here because every program has this file. On 32-bit ARM both are 32 bits wide unless asked
// otherwise [feature_test_macros(7)]: in 2038 the clock's readings, and any file touched since,
// would be refused. CMakeLists.txt asks, for whatever we compile. Libraries that were built with
// types of 32 bits stay what they are: no call of ours into one has either type in it.
static_assert(sizeof(time_t) == 8, "build with -D_TIME_BITS=64 and a C library that knows it");
static_assert(sizeof(off_t) == 8, "build with -D_FILE_OFFSET_BITS=64");

namespace nightlatch::sys {
namespace {

Unexpected<Error> odd(const std::string& path, const std::string& what) {
    return Unexpected{Error{Trouble::other, path + ": " + what}};
}

/// Writes the text to `fresh` and names that `path`. 0, or errno.
int put(const std::string& fresh, const std::string& path, const std::string& text) {
    const Fd out{open(fresh.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0644)};
    const ssize_t written = out ? write(out.get(), text.data(), text.size()) : -1;
    if (written < 0) {
        return errno;
    }
    if (written != static_cast<ssize_t>(text.size())) {
        return ENOSPC;  // the only reason for a part of a small file
    }
    return std::rename(fresh.c_str(), path.c_str()) == 0 ? 0 : errno;
}

}  // namespace

Result<std::string> read_small_file(const std::string& path, std::size_t longest) {
    // O_NONBLOCK: a FIFO in its place must not hold anything up.
    const Fd in{open(path.c_str(), O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC)};

    struct stat status {};

    if (!in || fstat(in.get(), &status) != 0 || !S_ISREG(status.st_mode)) {
        return odd(path,
                   in                ? "no regular file"
                   : errno == ENOENT ? "not there"
                                     : std::strerror(errno));
    }
    std::string text(longest + 1, '\0');
    const ssize_t got = read(in.get(), text.data(), text.size());
    if (got < 0 || static_cast<std::size_t>(got) > longest) {
        return odd(path, got < 0 ? std::strerror(errno) : "too long");
    }
    text.resize(static_cast<std::size_t>(got));
    return text;
}

Outcome replace_file(const std::string& path, const std::string& text, const std::string& remedy) {
    const std::string fresh = path + ".new";
    unlink(fresh.c_str());  // left over from a crash, perhaps
    if (const int number = put(fresh, path, text); number != 0) {
        unlink(fresh.c_str());
        return odd(path,
                   "cannot be written (" + std::string(std::strerror(number)) + "): " + remedy);
    }
    return std::monostate{};
}

}  // namespace nightlatch::sys
