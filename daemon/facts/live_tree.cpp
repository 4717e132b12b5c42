// SPDX-License-Identifier: MIT
#include "daemon/facts/live_tree.hpp"

#include "base/handle.hpp"
#include "daemon/facts/files.hpp"

#include <algorithm>
#include <cerrno>

#include <dirent.h>
#include <fcntl.h>
#include <sys/stat.h>

namespace nightlatch::facts {
namespace {

constexpr const char* base = "/sys/firmware/devicetree/base";
constexpr std::size_t most_value_bytes = std::size_t{1} << 20U;
/// A read that does not fill whole pages was the last: sysfs gives a page at a time, of 4 KiB or a
/// multiple of it [linux fs/kernfs/file.c]. It saves the read that would only say "the end".
constexpr std::size_t least_page = 4'096;
constexpr std::size_t buffer_bytes = 65'536;

/// A node's folder while it is being walked.
struct Folder {
    Handle<DIR, closedir> open;
    std::vector<std::string> properties;
    std::vector<std::string> children;
    std::size_t next = 0;  ///< of the children
};

/// It went, or became something else, after its folder had been listed.
bool gone(int number) {
    return number == ENOENT || number == ENOTDIR || number == ELOOP || number == ENXIO ||
           number == ENODEV;
}

/// The end leaves errno at 0, a failure does not [readdir(3)].
const dirent* next_entry(DIR* folder) {
    errno = 0;
    return readdir(folder);
}

class Walk {
public:
    Walk(const std::string& root, const devicetree::Limits& limits)
        : where_(root + base), limits_(limits), builder_(limits), buffer_(buffer_bytes, '\0') {}

    Known<devicetree::Tree> run(Descriptor top);

private:
    Outcome enter(int fd, const std::string& name);
    Outcome list(Folder& folder);
    Outcome take_properties(const Folder& folder);
    Outcome take(int folder, const std::string& name);
    int fill(int fd, std::size_t& size);
    Outcome step();

    [[nodiscard]] Unexpected<Error> denied(const std::string& property, int number) const;

    std::string where_;
    devicetree::Limits limits_;
    devicetree::Builder builder_;
    std::vector<Folder> open_;
    std::string buffer_;
    std::size_t name_bytes_ = 0;  ///< of all names listed so far
};

Known<devicetree::Tree> Walk::run(Descriptor top) {
    Outcome walked = enter(top.release(), "");
    while (walked && !open_.empty()) {
        walked = step();
    }
    if (!walked) {
        return Known<devicetree::Tree>::missing(walked.error().text);
    }
    Result<devicetree::Tree> tree = builder_.finish();
    if (!tree) {
        return Known<devicetree::Tree>::missing(where_ + " (" + tree.error().text + ")");
    }
    return std::move(*tree);
}

/// Into the next child, or back to the parent when there is no further one.
Outcome Walk::step() {
    Folder& folder = open_.back();
    if (folder.next == folder.children.size()) {
        open_.pop_back();
        return builder_.leave();
    }
    const std::string name = folder.children[folder.next++];
    const int fd = openat(
        dirfd(folder.open.get()), name.c_str(), O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
    if (fd >= 0) {
        return enter(fd, name);
    }
    if (gone(errno)) {
        return std::monostate{};
    }
    return denied("", errno);
}

Outcome Walk::enter(int fd, const std::string& name) {
    Folder folder;
    folder.open.reset(fdopendir(fd));
    if (!folder.open) {
        const int number = errno;
        close(fd);
        return denied("", number);
    }
    if (Outcome entered = builder_.enter(name); !entered) {
        return Unexpected{Error{Trouble::other, where_ + " (" + entered.error().text + ")"}};
    }
    if (Outcome listed = list(folder); !listed) {
        return listed;
    }
    if (Outcome taken = take_properties(folder); !taken) {
        return taken;
    }
    open_.push_back(std::move(folder));
    return std::monostate{};
}

Outcome Walk::list(Folder& folder) {
    while (const dirent* entry = next_entry(folder.open.get())) {
        std::string name(entry->d_name);
        unsigned char type = entry->d_type;
        if (name == "." || name == "..") {
            continue;
        }
        name_bytes_ += name.size();
        if (name_bytes_ > limits_.bytes) {
            return Unexpected{Error{Trouble::other, where_ + " (its names alone are too large)"}};
        }

        struct stat status {};

        if (type == DT_UNKNOWN &&
            fstatat(dirfd(folder.open.get()), name.c_str(), &status, AT_SYMLINK_NOFOLLOW) == 0) {
            type = static_cast<unsigned char>(IFTODT(status.st_mode));
        }
        if (type == DT_DIR) {
            folder.children.push_back(std::move(name));
        } else if (type == DT_REG && !name.starts_with("security-")) {
            folder.properties.push_back(std::move(name));
        }
    }
    if (errno != 0 && !gone(errno)) {
        return denied("", errno);  // half a list would be a tree with holes
    }
    // The kernel's order is that of its hashes: sorted, the same tree reads the same everywhere.
    std::sort(folder.children.begin(), folder.children.end());
    std::sort(folder.properties.begin(), folder.properties.end());
    return std::monostate{};
}

Outcome Walk::take_properties(const Folder& folder) {
    for (const std::string& name : folder.properties) {
        if (Outcome taken = take(dirfd(folder.open.get()), name); !taken) {
            return taken;
        }
    }
    return std::monostate{};
}

/// Reads a value into the buffer; gives errno, EFBIG for one that has no end.
int Walk::fill(int fd, std::size_t& size) {
    for (;;) {
        if (buffer_.size() - size < buffer_bytes) {
            buffer_.resize(size + buffer_bytes);
        }
        const ssize_t count = read(fd, buffer_.data() + size, buffer_.size() - size);
        if (count < 0) {
            return errno;
        }
        size += static_cast<std::size_t>(count);
        if (count == 0 || static_cast<std::size_t>(count) % least_page != 0) {
            return 0;
        }
        if (size > most_value_bytes) {
            return EFBIG;
        }
    }
}

Outcome Walk::take(int folder, const std::string& name) {
    const Descriptor file(
        openat(folder, name.c_str(), O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC));
    if (file.get() < 0) {
        return gone(errno) ? Outcome{std::monostate{}} : denied(name, errno);
    }
    std::size_t size = 0;
    if (const int number = fill(file.get(), size); number != 0) {
        return gone(number) ? Outcome{std::monostate{}} : denied(name, number);
    }
    Outcome taken = builder_.property(name, std::string_view(buffer_).substr(0, size));
    if (!taken) {
        return Unexpected{Error{Trouble::other, where_ + " (" + taken.error().text + ")"}};
    }
    return taken;
}

/// Of the node that is being entered, or of a property of it.
Unexpected<Error> Walk::denied(const std::string& property, int number) const {
    std::string path = where_;
    for (const Folder& folder : open_) {
        path += "/" + folder.children[folder.next - 1];
    }
    path += property.empty() ? "" : "/" + property;
    return Unexpected{Error{Trouble::denied, missing(path, number).text}};
}

}  // namespace

Known<devicetree::Tree> read_live_tree(const std::string& root, devicetree::Limits limits) {
    Read<Descriptor> top = open_below(root, base, O_RDONLY | O_DIRECTORY | O_NOFOLLOW);
    if (!top && top.error().absent()) {
        return Known<devicetree::Tree>::missing("a device tree (" + root + base +
                                                " is not there: this machine has none)");
    }
    if (!top) {
        return Known<devicetree::Tree>::missing(top.error().text);
    }
    return Walk(root, limits).run(std::move(*top));
}

}  // namespace nightlatch::facts
