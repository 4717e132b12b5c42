// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/circuit.hpp"

#include <cstdint>

namespace nightlatch::circuit {

/// An exact circuit that somebody might build, well or badly: the same for the same seed.
Values random_values(std::uint64_t seed);

/// Every value anywhere in the range that [circuit] takes, or left out where it may be: mostly what
/// nobody would build.
Values any_values(std::uint64_t seed);

}  // namespace nightlatch::circuit
