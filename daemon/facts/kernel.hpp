// SPDX-License-Identifier: MIT
#pragma once

#include "audit/facts.hpp"

#include <optional>
#include <vector>

namespace nightlatch::facts {

/// The running kernel [uname(2)].
Known<audit::KernelVersion> running_kernel();

/// An image's kernels, by their folders of modules [below /usr/lib/modules or /lib/modules]: which
/// of several boots is the boot loader's to say. At least one.
Known<std::vector<audit::KernelVersion>> kernels_of_image(const std::string& root);

/// The one that all of them are, as far as anything hangs on it: of several with the same version
/// the first.
Known<audit::KernelVersion> kernel_among(const Known<std::vector<audit::KernelVersion>>& kernels);

/// "6.1.90-arm64, 6.12.41-arm64".
std::string names_of(const std::vector<audit::KernelVersion>& kernels);

/// "6.12.41-arm64" is 6.12; nothing when it does not begin with two numbers.
std::optional<audit::KernelVersion> kernel_version(const std::string& release);

}  // namespace nightlatch::facts
