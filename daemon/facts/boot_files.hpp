// SPDX-License-Identifier: MIT
#pragma once

#include "base/known.hpp"
#include "bootfiles/intent.hpp"

namespace nightlatch::facts {

/// What the boot loaders' texts below <root>/boot ask for: config.txt, …Env.txt, extlinux.conf.
/// Empty when there is none that we read. Of two config.txt the one in /boot/firmware holds: the
/// other is then the note that it has moved [raspberrypi/documentation, config_txt]. Includes are
/// followed within the folder of the file alone.
///
/// `compatible`: the root node's, for config.txt's sections; may be empty.
Known<std::vector<bootfiles::Intent>> read_boot_files(const std::string& root,
                                                      const std::vector<std::string>& compatible);

/// May a file be included by this name: below the folder, no way up?
bool stays_below(std::string_view name);

}  // namespace nightlatch::facts
