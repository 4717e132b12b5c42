// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/circuit.hpp"

#include <string>
#include <vector>

namespace nightlatch::circuit {

/// One thing that could be changed, what it brings and what it costs elsewhere. Every line has been
/// computed at the worst corner, nothing is guessed.
struct WhatIf {
    std::string change;   ///< "hold capacitor 68 uF instead of 47 uF"
    double margin = 0.0;  ///< s, worst corner, with the change
    bool enough = false;  ///< the asked margin is reached and the pin is within its limit
    std::string cost;     ///< "ready again after 9.1 s instead of 6.4 s"
};

/// The margin that is asked for when `Demands::margin` is zero: 50 ms (ours; the times above it are
/// computed at the worst corner already).
constexpr double default_margin = 0.05;

/// Longer than anybody waits before pressing again: 30 s (ours).
constexpr double patience = 30.0;

/// In this order, each only where it is of use: larger series resistor until the pin is within its
/// limit (or a smaller one that the pin permits), bleed resistor with which it can be switched on
/// again in time, smallest hold capacitor that reaches the margin (E6), larger bleed resistor
/// (E12), rail bleeder (E12), transistors with other thresholds; where none is enough, up to four
/// together, each chosen because it helps most.
std::vector<WhatIf> advice(const Circuit& given);

}  // namespace nightlatch::circuit
