// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/circuit.hpp"

namespace nightlatch::circuit {

/// What one exact circuit's stages ask of each other, whatever they are built of: the one
/// description that transient, decks, switching on and limits walk. SI units.
struct Stages {
    // What charges the hold capacitor while the line is active: the pin, its pull-up, the inverter.
    double line_resistance = 0.0;
    double line_current = infinite;     ///< at most
    double boot_resistance = infinite;  ///< the same between power-on and the driver's probe
    double pin_current = 0.0;           ///< what the pin sinks from the line's pull-up
    // The release stage.
    double release_level = 0.0;     ///< V on the hold capacitor at which it is on, and lets go
    double release_begins = 0.0;    ///< V there at which a real one may be on already
    double base_level = infinite;   ///< V there above which its input draws current
    double base_conductance = 0.0;  ///< 1/ohm of that
    // Latch and main switch, or the enable pin, as levels of the rail.
    double latch_level = 0.0;     ///< the supply switches on again
    double staying_level = 0.0;   ///< it takes so much to stay on
    double released_level = 0.0;  ///< above it the release stage cannot open
    double rail_feed = 0.0;       ///< V behind the supply's path
    double rail_on = 0.0;         ///< the rail after halt, the supply on
    // The main switch's gate: from `gate_drive` it falls as an RC; open below `gate_opens`.
    double gate_drive = 0.0;
    double gate_opens = 0.0;
    double gate_time = 0.0;  ///< s
};

/// Which stages there are.
bool is_active_low(const Parts<double>& parts) noexcept;
bool is_open_drain(const Parts<double>& parts) noexcept;  ///< and active high
bool has_enable_pin(const Parts<double>& parts) noexcept;

/// V between gate and source of the main switch fully driven, magnitude: the supply, divided by
/// gate pull and gate series, limited by the Zener diode.
double gate_drive(const Parts<double>& parts) noexcept;

Stages stages_of(const Values& values);

}  // namespace nightlatch::circuit
