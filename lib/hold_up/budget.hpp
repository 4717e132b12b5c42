// SPDX-License-Identifier: MIT
#pragma once

#include "hold_up/hold_up.hpp"

namespace nightlatch::hold_up {

/// One exact store with one exact load. SI units.
struct Exact {
    double capacitance = 0.0;  ///< F: of a cell what changes its voltage as fast as a charge does
    double esr = 0.0;
    double from = 0.0;        ///< V, the store's own
    double to = 0.0;          ///< V at its terminals
    double power = 0.0;       ///< W out of its terminals; 0: it is a constant current
    double current = 0.0;     ///< A, where it is
    double efficiency = 1.0;  ///< of what comes out of the terminals the board gets so much
};

/// Seconds until the terminals are at `to`; 0 where they cannot even begin above it.
///
/// Of a capacitor C at constant power P without ESR C (V1^2 - V2^2) / (2 P): its energy by P.
/// With an ESR the current i out of V solves P = (V - i R) i, and C dV/dt = -i
/// integrates in closed form.
double lasts(const Exact& exact);

/// The store's own voltage at which `lasts` ends.
double ends_at(const Exact& exact);

/// Where the energy goes, in joules, and what that means in seconds.
struct Budget {
    Exact exact;
    double stored = 0.0;       ///< between the voltages at which it begins and ends
    double lost_in_esr = 0.0;  ///< J
    double lost_in_converter = 0.0;
    double for_board = 0.0;
    double ends_at = 0.0;  ///< V, the store's own
    double lasts = 0.0;    ///< s
    double noticed = 0.0;
    double going_down = 0.0;
    double margin = 0.0;  ///< lasts less the two; negative: that much is missing
};

Budget typical_budget(const HoldUp& hold_up);

/// Every value at its bad end, which is the same end whatever the others are: the smallest margin
/// of all stores and loads within the spreads.
Budget worst_budget(const HoldUp& hold_up);

}  // namespace nightlatch::hold_up
