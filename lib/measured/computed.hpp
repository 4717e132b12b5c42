// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/parameters.hpp"
#include "measured/shape.hpp"

#include <functional>
#include <span>
#include <string_view>

namespace nightlatch::measured {

/// One number of one exact circuit.
using Compute = std::function<double(const circuit::Values&)>;

/// Over every combination of the ends of these parts, all else typical; the typical value is that
/// of everything typical. At most 2^12 combinations: parts after those stay typical.
circuit::Spread range_over(const circuit::Circuit& circuit,
                           std::span<const std::string_view> keys,
                           const Compute& compute);

/// Seconds that the hold capacitor takes from one voltage to another with the line dead, by the
/// logarithm of the two: R C, as far as the bleed resistor alone empties it. `probe`: ohm of the
/// oscilloscope's, across it; infinite for none.
double decay_time(const circuit::Values& values, const Decay& decay, double probe);

/// V/s at which the rail falls from one voltage to another, above the cut-out, the supply open.
double fall_rate(const circuit::Values& values, double from, double to);

/// V on the hold capacitor at which the release stage lets go at the least: its transistor at the
/// current that a rail next to the latch's level gives it, less than its threshold is published at.
double lets_go_at_least(const circuit::Values& values);

}  // namespace nightlatch::measured
