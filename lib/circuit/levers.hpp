// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/circuit.hpp"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::circuit {

using Settings = std::vector<Setting>;

/// One key of [circuit] that can be changed, and which way.
struct Lever {
    enum class Way : unsigned char { up, down, part };
    std::string_view key;
    Way way = Way::up;
    double start = 0.0;  ///< where to begin when it is not there; 0: then it cannot be changed
};

/// The steps of a lever in this circuit, from the smallest change on: values of the preferred
/// series with the tolerance that is stated, or the library's other parts. Keys that would override
/// a part's values come with it.
std::vector<Settings> steps_of(const Circuit& circuit, const Lever& lever);

/// The circuit read again with these settings in the place of its own, or nothing when that is not
/// allowed, or when it was not read from texts.
std::optional<Circuit> with(const Circuit& circuit, const Settings& settings);

/// "hold capacitor 68 uF instead of 47 uF, release transistor 2N7002 instead of BSS138"
std::string words_of(const Circuit& circuit, const Settings& settings);

}  // namespace nightlatch::circuit
