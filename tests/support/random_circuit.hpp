// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/circuit.hpp"

#include <cstdint>

namespace nightlatch::circuit {

/// An exact circuit that somebody might build, well or badly: the same for the same seed.
Values random_values(std::uint64_t seed);

}  // namespace nightlatch::circuit
