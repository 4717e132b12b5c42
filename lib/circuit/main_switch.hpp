// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/circuit.hpp"

namespace nightlatch::circuit {

/// The main switch and the way to the board at full load.
struct SwitchLoad {
    double current = 0.0;        ///< A through it: the board's, and the bleeder's
    double gate_drive = 0.0;     ///< V that the gate really gets
    double on_resistance = 0.0;  ///< ohm at that drive and junction temperature
    double drop = 0.0;           ///< V across the switch, the supply's own voltage at most
    double dissipation = 0.0;    ///< W in it: I^2 R
    double rise = 0.0;       ///< K above the surroundings; 0 when no thermal resistance is stated
    double junction = 0.0;   ///< °C; infinite for above 400: it burns
    double path_drop = 0.0;  ///< V in source, wires and contacts
    double board_voltage = 0.0;  ///< V left at the board, not below zero
    double needed_drive = 0.0;   ///< V, the lowest gate drive for which RDS(on) is published
    double highest_drive = 0.0;  ///< V, at the worst
    bool below_published_drive = false;  ///< driven with less than its data sheet says anything of
    bool over_gate_limit = false;        ///< its highest drive is above the gate's limit
    bool over_current_limit = false;
    bool over_junction_limit = false;
    bool below_board_minimum = false;
};

/// RDS(on) rises by half from 25 to 125 °C (common practice, no source), so dissipation and
/// temperature are settled together.
SwitchLoad switch_load(const Circuit& circuit, const Values& values);

/// The same at its worst: lowest supply, highest resistances, load and temperature.
SwitchLoad worst_switch_load(const Circuit& circuit);

/// Ohm that are left for switch, wires and contacts: (supply - least at the board) / load.
double allowed_path_resistance(double supply, double board_minimum, double load);

}  // namespace nightlatch::circuit
