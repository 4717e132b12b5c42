// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"
#include "circuit/circuit.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::circuit {

/// "240 mV at 100 uA, 320 mV at 1 mA": by rising current, one to six points. Otherwise a sentence.
Result<Diode, std::string> parse_drops(std::string_view text);

/// "85 mohm at 2.5 V, 60 mohm at 4.5 V": by rising gate drive. Otherwise a sentence.
Result<std::vector<OnResistance>, std::string> parse_on_resistances(std::string_view text);

}  // namespace nightlatch::circuit
