// SPDX-License-Identifier: MIT
#pragma once

#include "config/press_script.hpp"
#include "config/reader.hpp"

namespace nightlatch::config {

/// `repeat` and `every`: the script is played so often, each time from a boot, a whole `every`
/// after the time before. `script` is whole but for that, its `end` included.
void read_repeats(const Section& root, PressScript& script, Reader& reader);

}  // namespace nightlatch::config
