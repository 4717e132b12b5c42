// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/circuit.hpp"

#include <array>
#include <cstdint>

namespace nightlatch::circuit {

/// Which stages a random circuit has beside or instead of the plain ones.
enum class Kind : unsigned char { plain, bipolar, pulled_line, driven_gate, enable_pin };

inline constexpr std::array all_kinds{
    Kind::plain, Kind::bipolar, Kind::pulled_line, Kind::driven_gate, Kind::enable_pin};

/// An exact circuit that somebody might build, well or badly: the same for the same seed.
Values random_values(std::uint64_t seed, Kind kind = Kind::plain);

/// Every value anywhere in the range that [circuit] takes, or left out where it may be: mostly what
/// nobody would build.
Values any_values(std::uint64_t seed);

}  // namespace nightlatch::circuit
