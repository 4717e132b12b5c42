// SPDX-License-Identifier: MIT
#pragma once

#include "hold_up/hold_up.hpp"

#include <span>
#include <string_view>
#include <vector>

namespace nightlatch::hold_up {

/// A key with a spread: its words in a sentence, and what is plausible. The capacity has a row for
/// each unit that it may be in.
struct Key {
    std::string_view name;   ///< "from_voltage"
    std::string_view words;  ///< "the voltage at which it begins"
    Unit unit;
    Range range;
    Spread HoldUp::*spread;
};

std::span<const Key> keys() noexcept;

/// Every name that [circuit.hold_up] may have, each once.
std::vector<std::string_view> key_names();

/// What a margin may be.
constexpr Range margin_range{1e-3, 3'600.0};

}  // namespace nightlatch::hold_up
