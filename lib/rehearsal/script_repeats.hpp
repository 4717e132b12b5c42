// SPDX-License-Identifier: MIT
#pragma once

#include "config/reader.hpp"
#include "rehearsal/press_script.hpp"

namespace nightlatch::rehearsal {

/// `repeat` and `every`: the script is played so often, each time from a boot, a whole `every`
/// after the time before. `script` is whole but for that, its `end` included.
void read_repeats(const config::Section& root, PressScript& script, config::Reader& reader);

}  // namespace nightlatch::rehearsal
