// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/finding.hpp"
#include "config/settings.hpp"

#include <vector>

namespace nightlatch::audit {

/// What [post_halt] states that [circuit] contradicts: the polarity (post-halt-polarity), and a
/// pulse shorter than `shortest_pulse`, which is in seconds, infinite when none will do
/// (post-halt-pulse). What is not stated contradicts nothing.
std::vector<circuit::Finding> against_circuit(const config::PostHalt& post_halt,
                                              const circuit::Circuit& circuit,
                                              double shortest_pulse);

}  // namespace nightlatch::audit
