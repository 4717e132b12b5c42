// SPDX-License-Identifier: MIT
#include "daemon/facts/kernel.hpp"

#include "base/text.hpp"
#include "daemon/facts/files.hpp"

#include <cerrno>
#include <charconv>

#include <sys/utsname.h>

namespace nightlatch::facts {

std::optional<audit::KernelVersion> kernel_version(const std::string& release) {
    audit::KernelVersion version;
    const char* const end = release.data() + release.size();
    const auto major = std::from_chars(release.data(), end, version.major);
    if (major.ec != std::errc{} || major.ptr == end || *major.ptr != '.') {
        return std::nullopt;
    }
    const auto minor = std::from_chars(major.ptr + 1, end, version.minor);
    if (minor.ec != std::errc{}) {
        return std::nullopt;
    }
    version.release = release;
    return version;
}

Known<audit::KernelVersion> running_kernel() {
    utsname names{};
    if (uname(&names) != 0) {
        return Known<audit::KernelVersion>::missing(missing("the kernel's release", errno).text);
    }
    const std::string release(static_cast<const char*>(names.release));
    auto version = kernel_version(release);
    if (!version) {
        return Known<audit::KernelVersion>::missing("the kernel's version (its release is " +
                                                    in_quotes(release) + ")");
    }
    version->build = static_cast<const char*>(names.version);
    return std::move(*version);
}

Known<audit::KernelVersion> kernel_of_image(const std::string& root) {
    using Answer = Known<audit::KernelVersion>;
    Read<std::vector<std::string>> names = names_in(root, "/usr/lib/modules");
    if (!names && names.error().absent()) {
        names = names_in(root, "/lib/modules");
    }
    if (!names) {
        return Answer::missing("the image's kernel: " + names.error().text);
    }
    std::vector<audit::KernelVersion> found;
    std::string list;
    for (const std::string& name : *names) {
        if (auto version = kernel_version(name)) {
            found.push_back(std::move(*version));
            list += (list.empty() ? "" : ", ") + name;
        }
    }
    if (found.size() == 1) {
        return std::move(found.front());
    }
    return Answer::missing(found.empty() ? "the image's kernel (" + root +
                                               "/usr/lib/modules holds no modules)"
                                         : "which of the image's kernels boots (" + list + ")");
}

}  // namespace nightlatch::facts
