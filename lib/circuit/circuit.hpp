// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/ratings.hpp"
#include "circuit/spread.hpp"

#include <array>
#include <cstddef>
#include <limits>
#include <vector>

namespace nightlatch::circuit {

/// A resistor that is not there.
constexpr double infinite = std::numeric_limits<double>::infinity();

/// Every number of the circuit: as a `Spread` in what is built, as a double in one exact circuit.
/// SI units. "none": infinite for a resistor across something, zero for one in series, a capacitor
/// or a current.
///
///     supply --[source, wires]--+--[main switch]--+-- rail: board, capacitance, bleeder
///                      gate pull|     | gate      |
///                        (Zener)+-----+          feed
///                                  series         |
///                                     | latch     |
///                      (and button) --+-transistor+---- release transistor --+-- ground
///                                                                   gate |
///     post-halt line --[series]--|>|--+--[hold capacitor]-- ground       |
///                                     +--[bleed]----------- ground       |
///                                     +-----------------[base]-----------+
///
/// An active-low line switches an inverter, which charges in its place. With an enable pin there
/// is no latch transistor and no gate: the feed resistor ends at the pin.
template <class T>
struct Parts {
    // Supply and board.
    T supply_voltage{};     ///< at the source's terminals, without load
    T source_resistance{};  ///< within the source
    T load_current{};       ///< the board at full load
    T halt_current{};       ///< the board after halt, its processor spinning, until the cut-out
    T rail_capacitance{};   ///< everything on the rail
    T cut_out{};            ///< rail voltage below which the board's regulator stops drawing
    T rail_leakage{};       ///< what is drawn at the cut-out voltage then; falls with the voltage
    T rail_bleeder{};       ///< across the rail
    T back_feed_voltage{};  ///< of what feeds the rail from outside, unloaded
    T back_feed_current{};  ///< of the same, into a short
    // Post-halt line.
    T line_high{};            ///< level of the line while active
    T line_resistance{};      ///< of the pin's driver
    T line_current{};         ///< the most that the driver delivers
    T line_pull{};            ///< of an open-drain or active-low line, up to the high level
    T inverter_threshold{};   ///< gate-source, magnitude, at 25 °C; 0: the line is active high
    T inverter_resistance{};  ///< drain-source when on
    T pin_limit{};            ///< the most that should be drawn
    T line_dies{};            ///< rail voltage below which the line is dead; 0: see dead_level()
    T boot_pull{};            ///< to the line's high level, between power-on and the driver's probe
    T boot_time{};            ///< from power-on to the driver's probe
    // Release network.
    T series_resistor{};
    T diode_factor{};   ///< of the published drops
    T diode_leakage{};  ///< reverse, at 25 °C
    T hold_capacitor{};
    T hold_leakage{};  ///< of that capacitor, at 25 °C
    T bleed_resistor{};
    T release_threshold{};   ///< gate-source or base-emitter, at 25 °C
    T release_resistance{};  ///< drain-source when on
    T release_gain{};        ///< of a bipolar transistor; 0: a MOSFET
    T release_base{};        ///< hold capacitor to its base
    // Latch and gate.
    T feed_resistor{};      ///< rail to the latch transistor's gate
    T latch_pull{};         ///< that gate to ground
    T latch_threshold{};    ///< gate-source or base-emitter, at 25 °C
    T latch_gain{};         ///< of a bipolar transistor; 0: a MOSFET
    T gate_pull{};          ///< supply to the main switch's gate
    T gate_series{};        ///< that gate to the latch transistor: a divider with the gate pull
    T gate_zener{};         ///< limits the gate's voltage
    T gate_capacitance{};   ///< gate to source, with the transistor's own
    T drain_capacitance{};  ///< gate to rail or ground, with the transistor's own
    T main_threshold{};     ///< magnitude, at 25 °C
    T button_resistor{};    ///< gate to ground while the button is pressed
    T button_gain{};        ///< of a bipolar transistor that the button drives; 0: none
    T button_base{};        ///< supply to its base while the button is pressed
    // An enable pin in the place of latch transistor and main switch.
    T enable_threshold{};   ///< rising; 0: there is no such pin
    T enable_hysteresis{};  ///< falling lies so much below
    T enable_delay{};       ///< from there until the output is off
    T regulator_output{};   ///< what it regulates to; 0: it passes the supply on
    T output_discharge{};   ///< its output to ground while disabled
    // The way to the board.
    T wire_resistance{};     ///< supply and return together
    T contact_resistance{};  ///< all connectors of the way together
    // All parts are at one temperature.
    T temperature{};  ///< °C
};

/// A forward drop from a data sheet.
struct DropPoint {
    double current = 0.0;  ///< A, above zero
    double drop = 0.0;     ///< V
};

/// The diode's forward curve: straight between the points, a constant drop below the first. No
/// points: it is bridged, and current flows both ways.
struct Diode {
    static constexpr std::size_t most_points = 6;
    std::array<DropPoint, most_points> points{};
    std::size_t count = 0;
};

/// How parts change with temperature. The defaults are common practice, no source.
struct TemperatureBehaviour {
    double threshold = -0.002;      ///< V/K of the MOSFETs' thresholds, all alike
    double diode_drop = -0.0015;    ///< V/K
    double leakage_doubles = 10.0;  ///< K that double the diode's and the capacitor's leakage
};

/// The levels that the kernel puts on the post-halt line: active, inactive, active and so it stays
/// [linux drivers/power/reset/gpio-poweroff.c, whose defaults these are]. Seconds.
struct PulseTrain {
    double active = 0.1;
    double inactive = 0.1;
    double timeout = 3.0;  ///< after which the kernel goes on to other ways of powering off
};

/// RDS(on) as published for a gate drive.
struct OnResistance {
    double gate_drive = 0.0;  ///< V, magnitude
    double ohms = 0.0;        ///< at most, 25 °C
};

/// What is published of the main switch beside its threshold. Zero: not known.
struct MainSwitch {
    std::vector<OnResistance> on;     ///< by rising gate drive
    double gate_limit = 0.0;          ///< V, gate to source
    double drain_limit = 0.0;         ///< V, drain to source
    double current_limit = 0.0;       ///< A, continuous
    double thermal_resistance = 0.0;  ///< K/W, junction to ambient
    double junction_limit = 150.0;    ///< °C
};

/// Where a control voltage is published, and what the transistor then conducts at most.
struct Conduction {
    double test_current = 0.0;  ///< A; 0: 250 uA of a MOSFET, 2 mA of a bipolar transistor
    OnResistance on{4.5, 5.0};  ///< of a MOSFET
};

/// The most that a small transistor takes. Zero: not known.
struct TransistorLimits {
    double gate = 0.0;     ///< V, gate to source
    double drain = 0.0;    ///< V, drain to source
    double current = 0.0;  ///< A, continuous
};

/// What is asked of the whole, beside letting go.
struct Demands {
    double board_minimum = 0.0;    ///< V at the board under full load; 0: not asked
    double battery = 0.0;          ///< Ah; 0: not a battery
    double margin = 0.0;           ///< s between fall of the rail and end of the hold-off
    double supply_rise = 1e-3;     ///< s that the supply takes to come up when plugged in
    double self_discharge = 0.03;  ///< of the battery, a month [Battery University BU-802b, quoted]
};

struct Circuit {
    Parts<Spread> parts;
    Diode diode;
    MainSwitch main_switch;
    TransistorLimits latch;
    TransistorLimits release;
    Conduction latch_conduction;
    Conduction release_conduction;
    double main_test_current = 250e-6;  ///< A
    TemperatureBehaviour behaviour;
    PulseTrain pulses;
    Demands demands;
    Ratings ratings;
    std::vector<Setting> stated;  ///< the texts that it was read from, in their order
};

/// One exact circuit at one temperature, as the transient computes it.
struct Values {
    Parts<double> parts;  ///< thresholds, leakages and drops as they are at parts.temperature
    Diode diode;
    double supply_path = 0.0;  ///< ohm from the source to the rail: source, wires, contacts, switch
    PulseTrain pulses;
    Conduction latch;
    Conduction release;
    Conduction main{250e-6, {4.5, 0.05}};
};

}  // namespace nightlatch::circuit
