// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/parameters.hpp"
#include "circuit/transient.hpp"

#include <cstdint>
#include <string>
#include <vector>

namespace nightlatch::circuit {

/// The exact worst case: the smallest margin of any circuit within all spreads.
struct WorstCase {
    Position position{};  ///< where every part is
    Values values;
    Transient transient;
};

/// All parts at one temperature: the thresholds track each other.
WorstCase worst_case(const Circuit& circuit);

/// The shortest single pulse that suffices for every circuit within the spreads: seconds, to within
/// a thousandth; infinite when there is one that no pulse up to 100 s releases for good. Not at the
/// corner of the smallest margin: a capacitor at its largest holds longer, and charges longer too.
double worst_pulse(const Circuit& circuit);

/// How often it works, and by how much, over circuits drawn at random.
struct MonteCarlo {
    unsigned circuits = 0;
    unsigned stay_off = 0;
    /// Margins in seconds at 0.1, 1, 10, 50 and 90 percent of the circuits: so many have less.
    double thousandth = 0.0;
    double hundredth = 0.0;
    double tenth = 0.0;
    double half = 0.0;
    double nine_tenths = 0.0;
};

/// Each part by itself, triangular between its ends with the peak at the typical value (common
/// practice, no source); the same numbers for the same seed on every machine.
MonteCarlo monte_carlo(const Circuit& circuit, unsigned circuits, std::uint64_t seed);

/// What one part does to the margin when it goes through its spread and all else is typical.
struct Sensitivity {
    std::size_t parameter = 0;  ///< index in `parameters()`
    double at_least = 0.0;      ///< margin in seconds at its least value; infinite ones are cut
    double at_most = 0.0;
    std::string sentence;  ///< "the bleed resistor: from 95 kohm to 105 kohm the margin …"
};

/// Largest first; parts that do nothing are left out.
std::vector<Sensitivity> sensitivities(const Circuit& circuit);

/// Which combination of the two thresholds fails, everything else being at its worst for the two.
struct ThresholdCell {
    double release_threshold = 0.0;  ///< V, at 25 °C as published
    double latch_threshold = 0.0;
    double margin = 0.0;  ///< s
    Outcome outcome = Outcome::stays_off;
};

/// Nine: each threshold at its least, typical and largest value; latch threshold fastest. None with
/// an enable pin.
std::vector<ThresholdCell> threshold_table(const Circuit& circuit);

}  // namespace nightlatch::circuit
