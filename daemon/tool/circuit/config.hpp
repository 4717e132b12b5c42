// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/read.hpp"
#include "config/load.hpp"
#include "hold_up/read.hpp"

#include <optional>
#include <string_view>

namespace nightlatch::tool {

/// What a configuration's text has of [circuit], and of [circuit.hold_up] within it.
struct CircuitFile {
    bool there = false;  ///< either of them
    std::optional<config::CircuitSection> section;
    config::PostHalt post_halt;                   ///< what of that section can be read
    std::optional<circuit::CircuitRead> circuit;  ///< with any key of its own, or without hold_up
    std::optional<hold_up::HoldUpRead> hold_up;
    config::Diagnostics of_text;  ///< of the sections, as lib/config reads them
    /// Of the values: problems as errors where they stand (what is missing: at the section's
    /// header), none of a key that `of_text` tells of, and notes of how many are assumed; by place.
    config::Diagnostics of_values;
};

void sort_by_place(config::Diagnostics& found);

CircuitFile read_circuit_file(std::string_view text);

}  // namespace nightlatch::tool
