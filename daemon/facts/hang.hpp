// SPDX-License-Identifier: MIT
#pragma once

#include "audit/facts.hpp"

#include <optional>
#include <string_view>

namespace nightlatch::facts {

/// What the running kernel does when it hangs, from <root>/proc/sys/kernel [linux
/// Documentation/admin-guide/sysctl/kernel.rst].
audit::HangFacts read_hang(const std::string& root);

/// What an image sets, in the files that sysctl.d(5) names. What it leaves alone is the kernel's
/// own default, which the image does not tell: missing.
audit::HangFacts hang_of_image(const std::string& root);

/// The value that a sysctl.d file gives a key ("kernel.panic") last; nothing when it gives none.
std::optional<std::string> sysctl_in(std::string_view text, std::string_view key);

}  // namespace nightlatch::facts
