// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/read.hpp"
#include "config/load.hpp"

namespace nightlatch::tool {

/// What was made of a configuration's [circuit] as diagnostics: problems as errors where they stand
/// (what is missing: at the section's header), and a note of how many values are assumed.
config::Diagnostics circuit_diagnostics(const config::CircuitSection& section,
                                        const circuit::CircuitRead& read);

}  // namespace nightlatch::tool
