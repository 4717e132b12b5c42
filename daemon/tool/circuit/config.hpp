// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/read.hpp"
#include "config/load.hpp"

namespace nightlatch::tool {

/// What was made of a configuration's [circuit] as diagnostics: problems as errors where they stand
/// (what is missing: at the section's header), and a note of how many values are assumed. Of a key
/// that `loaded` tells of no more is said.
config::Diagnostics circuit_diagnostics(const config::LoadedCircuit& loaded,
                                        const circuit::CircuitRead& read);

}  // namespace nightlatch::tool
