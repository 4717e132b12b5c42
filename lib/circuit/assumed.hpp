// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/spread.hpp"

#include <string_view>

namespace nightlatch::circuit {

/// What is taken for a value that most people cannot measure, with generous ends.
struct Assumed {
    std::string_view key;
    Spread spread;
    std::string_view why;  ///< the source, or "common practice, no source"
};

/// Nothing when the key is one that must be stated.
const Assumed* assumed_for(std::string_view key) noexcept;

/// Left out without a word: that it is not there is what most circuits are.
bool is_usually_absent(std::string_view key) noexcept;

}  // namespace nightlatch::circuit
