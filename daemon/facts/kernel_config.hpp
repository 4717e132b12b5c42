// SPDX-License-Identifier: MIT
#pragma once

#include "audit/facts.hpp"
#include "base/result.hpp"

#include <string_view>

namespace nightlatch::facts {

/// CONFIG_POWER_RESET_GPIO of a kernel: from <root>/boot/config-RELEASE, else, of the running one,
/// from <root>/proc/config.gz [linux init/Kconfig, IKCONFIG_PROC]. Many kernels have neither.
Known<audit::Built> read_post_halt_config(const std::string& root, const std::string& release);

/// Left out of a configuration that is one means out: what an option depends on was off.
Known<audit::Built> post_halt_in_config(std::string_view text, const std::string& file);

/// gzip's bytes [RFC 1952] to text of at most `most` bytes.
Result<std::string> unpacked(std::string_view bytes, std::size_t most);

/// The same of an image, whose kernels decide it where all of them say the same.
Known<audit::Built> post_halt_config_of(const std::string& root,
                                        const Known<std::vector<audit::KernelVersion>>& kernels);

}  // namespace nightlatch::facts
