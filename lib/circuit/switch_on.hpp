// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/circuit.hpp"

namespace nightlatch::circuit {

/// The other direction. Seconds, amperes, joules; infinite for never.
struct SwitchOn {
    double shortest_press = 0.0;  ///< that latches: gate down, rail charged to the latch's level
    double inrush = 0.0;          ///< A at most: path or gate-drain capacitance limits it
    double inrush_time = 0.0;     ///< s until the rail is within a hundredth of its voltage
    double inrush_charge = 0.0;   ///< A s into the board's capacitance
    double ready_again = 0.0;  ///< s after the release transistor turned on, until it is off again
    /// When mains or battery return: the gate's capacitances hold it back while the supply rises.
    double coupled_drive = 0.0;  ///< V of gate drive at most
    double coupled_time = 0.0;   ///< s that it is above the main switch's threshold
    double coupled_rail = 0.0;   ///< V that the rail reaches meanwhile
    bool starts_by_itself = false;
    /// The line is pulled high between power-on and the driver's probe.
    double boot_hold = 0.0;      ///< V on the hold capacitor at the probe
    bool boot_releases = false;  ///< … which is enough for the release transistor: it never starts
};

/// At one exact circuit. The board draws its full load once the rail is above the cut-out.
SwitchOn switch_on(const Circuit& circuit, const Values& values);

/// The worst of everything: each field at its own bad corner of the spreads, temperature included.
SwitchOn worst_switch_on(const Circuit& circuit);

}  // namespace nightlatch::circuit
