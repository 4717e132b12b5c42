// SPDX-License-Identifier: MIT
#pragma once

#include "audit/facts.hpp"

#include <string_view>

namespace nightlatch::facts {

/// What is mounted where, from <root>/proc/self/mountinfo; of several at one place the one on top.
Known<std::vector<audit::Mount>> read_mounts(const std::string& root);

/// mountinfo's lines [linux Documentation/filesystems/proc.rst, 3.5]. Read-only is a mount that is,
/// or one of a file system that is.
std::vector<audit::Mount> mounts_in(std::string_view text);

/// What <root>/etc/fstab has; none where there is no such file.
Known<std::vector<audit::BootMount>> read_boot_mounts(const std::string& root);

/// Its lines, without comments and what is cut short [fstab(5)].
std::vector<audit::BootMount> boot_mounts_in(std::string_view text);

/// What an image's /etc/fstab will mount, the root file system only where that makes it read-only:
/// what is laid over it before is not told there.
Known<std::vector<audit::Mount>> mounts_of_image(const std::string& root);

}  // namespace nightlatch::facts
