// SPDX-License-Identifier: MIT
#pragma once

#include "bootfiles/intent.hpp"

namespace nightlatch::bootfiles {

/// key=value text that a boot script reads: `overlay_prefix`, `overlays`, `user_overlays`,
/// `param_*` [armbian/documentation, User-Guide_Armbian_overlays]; others by
/// `uboot_overlay_addrN` or a list of paths. Any bytes are safe.
Intent read_env_txt(std::string_view file, std::string_view text);

}  // namespace nightlatch::bootfiles
