// SPDX-License-Identifier: MIT
#pragma once

#include "audit/facts.hpp"

#include <optional>

namespace nightlatch::facts {

/// The running kernel [uname(2)].
Known<audit::KernelVersion> running_kernel();

/// An image's: the one folder of modules that it has [below /usr/lib/modules or /lib/modules].
/// With several, which one boots is the boot loader's to say: missing, with their names.
Known<audit::KernelVersion> kernel_of_image(const std::string& root);

/// "6.12.41-arm64" is 6.12; nothing when it does not begin with two numbers.
std::optional<audit::KernelVersion> kernel_version(const std::string& release);

}  // namespace nightlatch::facts
