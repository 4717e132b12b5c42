// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/circuit.hpp"

namespace nightlatch::circuit {

/// What flows when the board is off, and what the circuit costs while it is on. Amperes.
struct StandingCurrents {
    double off_main_leakage = 0.0;   ///< through the main switch: its drain leakage
    double off_latch_leakage = 0.0;  ///< through gate pull and the latch transistor
    double off_total = 0.0;
    double on_gate_pull = 0.0;   ///< supply over the gate pull, the latch holding it down
    double on_latch_pull = 0.0;  ///< rail over feed resistor and pull-down
    double on_bleeder = 0.0;     ///< rail over its bleeder
    double released_feed = 0.0;  ///< rail over the feed resistor while the release transistor is on
    double on_total = 0.0;       ///< without the released feed, which lasts milliseconds
    double battery_days = 0.0;   ///< until it is empty, off, self-discharge included; 0: no battery
};

/// Drain leakage of a small MOSFET: 1 uA at most at 25 °C [BSS138, AO3401A data sheets: IDSS],
/// doubling with temperature like the other leakages.
StandingCurrents standing_currents(const Circuit& circuit, const Values& values);

}  // namespace nightlatch::circuit
