// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"

#include <optional>
#include <string>

#include <sys/types.h>

namespace nightlatch::sys {

/// Whose hand may have written what we act on.
enum class TrustPolicy : unsigned char {
    root_only,  ///< refuse a file, or a directory it stands in, that others than root may write
    anybody,    ///< for a person who tries things out
};

/// Reads a text file of at most 1 MiB. Looks at the file that was opened, so that nothing can be
/// put in its place between the look and the reading. Fails with one sentence that says what to do.
/// Trouble: unsupported for what stays so until a person changes it (no such file, no regular file,
/// one that is too large or that the policy refuses); denied or other for what may pass.
Result<std::string> read_config_file(const std::string& path, TrustPolicy policy);

/// Why others than root may write the file or its directory; nothing when only root may.
std::optional<std::string> why_not_trusted(const std::string& path);

/// The same of one file or directory, by what is known of it [stat(2)].
std::optional<std::string> why_not_trusted(const std::string& path, mode_t mode, uid_t owner);

}  // namespace nightlatch::sys
