// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/circuit.hpp"

#include <string>
#include <vector>

namespace nightlatch::circuit {

/// A voltage across a transistor that its data sheet does not allow.
struct OverLimit {
    bool gate = false;       ///< gate to source; else drain to source
    std::string transistor;  ///< "the latch transistor"
    double volts = 0.0;      ///< the most that it gets
    double limit = 0.0;      ///< what is published
};

/// Of all transistors, what is known of their limits against the highest supply and line. The main
/// switch's gate is SwitchLoad's to judge.
std::vector<OverLimit> over_limits(const Circuit& circuit);

}  // namespace nightlatch::circuit
