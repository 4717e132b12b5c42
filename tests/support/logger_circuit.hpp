// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/circuit.hpp"

namespace nightlatch::circuit {

/// The tide-gauge logger on its pontoon with the spreads of its parts: a battery, a regulator that
/// stops at 3.4 V, a small board, from a frosty morning to a hot noon.
Circuit logger_circuit();

}  // namespace nightlatch::circuit
