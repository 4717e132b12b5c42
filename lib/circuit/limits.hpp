// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/finding.hpp"

namespace nightlatch::circuit {

/// What parts get more of than they take, each at the worst end of every spread: volts and amperes
/// of the transistors (the main switch's gate, current and heat are SwitchLoad's to judge), watts
/// of the resistors, volts of the capacitors. Where the next common rating is the remedy, it is in
/// the finding's settings.
std::vector<Finding> limit_findings(const Circuit& circuit);

}  // namespace nightlatch::circuit
