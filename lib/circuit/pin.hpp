// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/circuit.hpp"

namespace nightlatch::circuit {

/// What the post-halt line's pin has to deliver in one active level, the hold capacitor empty; of
/// an open-drain or active-low line what it sinks from the pull-up.
struct PinLoad {
    double ideal_peak =
        0.0;               ///< A were the pin an ideal source: the level over the series resistor
    double peak = 0.0;     ///< A with the driver's resistance and its own limit
    double average = 0.0;  ///< A over the active level
    double charge_time = 0.0;   ///< s: five time constants of all resistance and the capacitor
    double energy = 0.0;        ///< J drawn from the line in one active level
    bool within_limit = false;  ///< the peak from a pin that is stiffer than its driver is stated
    bool charged_in_time = false;  ///< the charge time is within the active level
};

/// `ideal_peak` judges the limit: a driver's resistance is typical and the drive strength set is no
/// current limit [raspberrypi/documentation, "GPIO pads control"].
PinLoad pin_load(const Values& values);

}  // namespace nightlatch::circuit
