// SPDX-License-Identifier: MIT
#pragma once

#include "wave/problems.hpp"
#include "wave/samples.hpp"
#include "wave/vcd_header.hpp"
#include "wave/vcd_tokens.hpp"

namespace nightlatch::wave {

/// A file while it is read.
struct VcdFile {
    Problems problems;
    VcdTokens tokens;
    VcdHeader header;
};

/// Reads what follows the declarations into `samples`, of `chosen` only; null: only the form is
/// looked at. Gives the last time, since the first.
Duration read_vcd_changes(VcdFile& file, const VcdSignal* chosen, Samples& samples);

}  // namespace nightlatch::wave
