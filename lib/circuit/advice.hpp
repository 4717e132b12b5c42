// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/levers.hpp"

#include <string>
#include <vector>

namespace nightlatch::circuit {

struct Assessment;

/// What a change would do. Computed, not guessed: each line is the whole circuit judged again.
struct WhatIf {
    std::string change;               ///< "hold capacitor 68 uF instead of 47 uF"
    Settings settings;                ///< the same as lines of [circuit]
    double margin = 0.0;              ///< s, worst corner, with the change
    bool enough = false;              ///< the margin that is asked for is reached
    std::vector<std::string> adds{};  ///< ids of the findings that it adds; of few it is none
    std::string cost{};               ///< "ready again after 9.1 s instead of 6.4 s"; may be empty
};

/// The margin that is asked for when `Demands::margin` is zero: 50 ms (ours; the times above it are
/// computed at the worst corner already).
constexpr double default_margin = 0.05;

/// Longer than anybody waits before pressing again: 30 s (ours).
constexpr double patience = 30.0;

/// What brings the margin, each only where it is of use: the smallest change of series resistor,
/// hold capacitor (E6), bleed resistor, rail bleeder (E12), diode, release and latch transistor
/// (library) and of the kernel's delays that reaches it without another finding, or else what
/// brings most; where none is enough, up to four together, each chosen because it helps most.
/// Nothing for a circuit that was not read from texts. `judged`: of the same circuit.
std::vector<WhatIf> advice(const Circuit& circuit, const Assessment& judged);

/// Gives each finding the first change that makes it go and adds none; of those that add one, the
/// first, and its remedy names what it adds.
void add_remedies(const Circuit& circuit, Assessment& judged);

}  // namespace nightlatch::circuit
