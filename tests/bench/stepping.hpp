// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/circuit.hpp"

namespace nightlatch::bench {

struct Stepped {
    double hold_off = 0.0;   ///< s from the opening on
    double rail_fall = 0.0;  ///< likewise
};

/// The obvious way: forward Euler with a fixed step, of a circuit that the first active level opens
/// and whose rail nothing feeds from outside.
Stepped step_through(const circuit::Values& values, double step);

}  // namespace nightlatch::bench
