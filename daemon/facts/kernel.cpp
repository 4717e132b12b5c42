// SPDX-License-Identifier: MIT
#include "daemon/facts/kernel.hpp"

#include "base/text.hpp"
#include "daemon/facts/files.hpp"

#include <algorithm>
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

Known<std::vector<audit::KernelVersion>> kernels_of_image(const std::string& root) {
    using Answer = Known<std::vector<audit::KernelVersion>>;
    Read<std::vector<std::string>> names = names_in(root, "/usr/lib/modules");
    if (!names && names.error().absent()) {
        names = names_in(root, "/lib/modules");
    }
    if (!names) {
        return Answer::missing("the image's kernel: " + names.error().text);
    }
    std::vector<audit::KernelVersion> found;
    for (const std::string& name : *names) {
        if (auto version = kernel_version(name)) {
            found.push_back(std::move(*version));
        }
    }
    return found.empty() ? Answer::missing("the image's kernel (" + root +
                                           "/usr/lib/modules holds no modules)")
                         : Answer(std::move(found));
}

Known<audit::KernelVersion> kernel_among(const Known<std::vector<audit::KernelVersion>>& kernels) {
    using Answer = Known<audit::KernelVersion>;
    if (!kernels) {
        return Answer::missing(kernels.what_is_missing());
    }
    const audit::KernelVersion& first = kernels->front();
    const bool same = std::all_of(kernels->begin(), kernels->end(), [&](const auto& one) {
        return one.major == first.major && one.minor == first.minor;
    });
    return same
               ? Answer(first)
               : Answer::missing("which of the image's kernels boots (" + names_of(*kernels) + ")");
}

std::string names_of(const std::vector<audit::KernelVersion>& kernels) {
    std::string list;
    for (const audit::KernelVersion& kernel : kernels) {
        list += (list.empty() ? "" : ", ") + kernel.release;
    }
    return list;
}

}  // namespace nightlatch::facts
