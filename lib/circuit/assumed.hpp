// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/spread.hpp"

#include <string>
#include <string_view>

namespace nightlatch::circuit {

/// What is taken for a value that most people cannot measure, with generous ends.
struct Assumed {
    std::string_view key;
    Spread spread;
    std::string_view why;  ///< the source, or "common practice, no source"
};

/// What was not said, and is assumed.
struct Assumption {
    std::string_view key;
    std::string_view words;  ///< "the pin's current limit"
    Spread spread;
    Unit unit = Unit::factor;
    std::string_view source;
};

/// In one sentence, without a stop.
std::string sentence_of(const Assumption& assumption);

/// Nothing when the key is one that must be stated.
const Assumed* assumed_for(std::string_view key) noexcept;

/// Left out without a word: that it is not there is what most circuits are.
bool is_usually_absent(std::string_view key) noexcept;

}  // namespace nightlatch::circuit
