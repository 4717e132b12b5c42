// SPDX-License-Identifier: MIT
#pragma once

#include "bootfiles/intent.hpp"

namespace nightlatch::bootfiles {

/// extlinux.conf: `fdtoverlays` (or `devicetree-overlay`) of each label; those of the default label
/// apply, those of another depend on its being chosen [U-Boot doc/README.pxe]. Any bytes are safe.
Intent read_extlinux(std::string_view file, std::string_view text);

}  // namespace nightlatch::bootfiles
