// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"

#include <string>
#include <string_view>

namespace nightlatch::circuit {

constexpr int thinnest_gauge = 40;
constexpr int thickest_gauge = 0;

/// Diameter in metres of a wire of this American wire gauge: 0.127 mm · 92^((36 - n) / 39)
/// [ASTM B258].
double wire_diameter(int gauge);

/// Ohm of annealed copper (1.7241e-8 ohm m at 20 °C [IEC 60028], 0.393 %/K) of this gauge, length
/// in metres one way, there and back again.
double wire_resistance(int gauge, double metres, double celsius = 20.0);

/// "24 AWG": 0 to 40. Otherwise one sentence.
Result<int, std::string> parse_gauge(std::string_view text);

}  // namespace nightlatch::circuit
