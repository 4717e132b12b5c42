// SPDX-License-Identifier: MIT
#include "circuit/e_series.hpp"
#include "circuit/main_switch.hpp"
#include "circuit/off_state.hpp"
#include "circuit/parameters.hpp"
#include "circuit/pin.hpp"
#include "circuit/stages.hpp"
#include "circuit/switch_on.hpp"
#include "circuit/transistor_law.hpp"
#include "circuit/wire.hpp"
#include "example.hpp"
#include "support/logger_circuit.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_floating_point.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch::circuit;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

// Check values marked "trade" are common practice, no source.

TEST_CASE("The preferred numbers are those of IEC 60063") {
    CHECK(values_of(Series::e6) == std::vector{1.0, 1.5, 2.2, 3.3, 4.7, 6.8});
    CHECK(values_of(Series::e12) ==
          std::vector{1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2});
    CHECK(values_of(Series::e24).size() == 24);
}

TEST_CASE("Neighbours in a series are found across decades, and a value is its own neighbour") {
    CHECK_THAT(next_up(23e-6, Series::e6), WithinRel(33e-6));
    CHECK_THAT(next_up(22e-6, Series::e6), WithinRel(22e-6));
    CHECK_THAT(next_up(7.0, Series::e6), WithinRel(10.0));
    CHECK_THAT(below(0.95, Series::e12), WithinRel(0.82));
    CHECK_THAT(above(820.0, Series::e12), WithinRel(1000.0));
    CHECK_THAT(below(1000.0, Series::e12), WithinRel(820.0));
    CHECK_THAT(above(1e-6, Series::e24), WithinRel(1.1e-6));
}

TEST_CASE("Wires have the resistance of the published tables") {
    // Ohm per 1000 ft at 20 °C [HyperPhysics, "Table of wire gauges", after Floyd; ASTM B258].
    struct Row {
        int gauge;
        double ohms;
    };

    for (const Row row : std::array{Row{16, 4.016},
                                    Row{18, 6.385},
                                    Row{20, 10.15},
                                    Row{22, 16.14},
                                    Row{24, 25.67},
                                    Row{26, 40.81},
                                    Row{28, 64.9},
                                    Row{30, 103.2}}) {
        CHECK_THAT(wire_resistance(row.gauge, 304.8 / 2.0), WithinRel(row.ohms, 0.005));
    }
    CHECK_THAT(wire_diameter(36), WithinRel(0.127e-3));
    CHECK(*parse_gauge("24 AWG") == 24);
    for (const char* text : {"24", "-1 AWG", "41 AWG", "AWG", "24 mm"}) {
        CHECK_FALSE(parse_gauge(text));
    }
    CHECK_THAT(parse_gauge("AWG 22").error(), ContainsSubstring("was \"22 AWG\" meant?"));
}

TEST_CASE("A pin without enough in series is overloaded, and how much is said") {
    Values values = logger_values();
    values.diode.count = 1;
    values.diode.points[0] = {1e-4, 0.22};
    values.parts.hold_capacitor = 22e-6;
    values.parts.line_resistance = 0.0;
    values.parts.series_resistor = 10.0;
    CHECK_THAT(pin_load(values).ideal_peak,
               WithinRel(0.308, 0.001));  // of the order of 300 mA (trade)
    CHECK_FALSE(pin_load(values).within_limit);
    values.parts.series_resistor = 220.0;
    CHECK_THAT(pin_load(values).ideal_peak, WithinAbs(14e-3, 0.5e-3));   // 14 mA (trade)
    CHECK_THAT(pin_load(values).charge_time, WithinAbs(24e-3, 0.5e-3));  // 24 ms (trade)
    CHECK(pin_load(values).within_limit);
    values.parts.series_resistor = 820.0;
    CHECK_THAT(pin_load(values).ideal_peak, WithinAbs(3.7e-3, 0.1e-3));  // 3.7 mA (trade)
    CHECK_THAT(pin_load(values).charge_time, WithinAbs(90e-3, 1e-3));    // 90 ms (trade)
    values.parts.series_resistor = 0.0;
    CHECK(pin_load(values).ideal_peak > 100.0 * values.parts.pin_limit);
}

TEST_CASE("Energy and average of a pulse are the capacitor's charge at the line's level") {
    Values values = logger_values();
    values.parts.bleed_resistor = infinite;
    const PinLoad load = pin_load(values);
    const double charge = 33e-6 * (3.3 - 0.24);  // Q = C V
    CHECK_THAT(load.energy, WithinRel(charge * 3.3, 1e-9));
    CHECK_THAT(load.average, WithinRel(charge / 0.1, 1e-9));
}

TEST_CASE("The main switch drops and heats by the resistance at the drive that it really has") {
    Circuit circuit = logger_circuit();
    Values values = values_at(circuit, everything_typical());
    values.parts.load_current = 2.0;
    values.parts.rail_bleeder = infinite;
    values.parts.temperature = 25.0;
    circuit.main_switch.thermal_resistance = 0.0;
    const SwitchLoad load = switch_load(circuit, values);
    // Between 60 mohm at 4.5 V and 50 mohm at 10 V [AO3401A]; PD = rDS(on) I^2 [TI, TPS2062-1 data
    // sheet SLVS714B, power dissipation and junction temperature].
    CHECK_THAT(load.on_resistance, WithinRel(0.06 - 0.01 * 0.6 / 5.5, 1e-6));
    CHECK_THAT(load.dissipation, WithinRel(4.0 * load.on_resistance, 1e-9));
    CHECK_THAT(load.drop, WithinRel(2.0 * load.on_resistance, 1e-9));
    CHECK_FALSE(load.below_published_drive);
}

TEST_CASE("A published example's P-channel switch dissipates and heats as it says") {
    // SQJ457EP, 5 A through 25 mohm: 0.625 W; 68 K/W make that 42.5 K, so 67.5 C at 25 C ["MOSFET
    // thermal calculation", a public tutorial of July 2020].
    Circuit circuit = logger_circuit();
    circuit.main_switch.on = {{4.5, 0.025}};
    circuit.main_switch.thermal_resistance = 0.0;
    Values values = values_at(circuit, everything_typical());
    values.parts.load_current = 5.0;
    values.parts.rail_bleeder = infinite;
    values.parts.temperature = 25.0;
    const SwitchLoad cold = switch_load(circuit, values);
    CHECK_THAT(cold.dissipation, WithinRel(0.625, 1e-9));
    CHECK_THAT(25.0 + cold.dissipation * 68.0, WithinAbs(67.5, 1e-9));
    // The example leaves RDS(on) as it is when cold. Repeated until it agrees with itself, as in
    // SLVS714B, it is TJ = PD RthJA + TA with the PD of the hot switch: a few kelvins more.
    circuit.main_switch.thermal_resistance = 68.0;
    const SwitchLoad hot = switch_load(circuit, values);
    CHECK_THAT(hot.junction, WithinAbs(25.0 + hot.dissipation * 68.0, 1e-6));
    CHECK(hot.junction > 67.5);
    CHECK(hot.junction < 67.5 + 15.0);
}

TEST_CASE("A part specified at 10 V and driven with 5 V is told, and its resistance distrusted") {
    Circuit circuit = logger_circuit();
    circuit.main_switch.on = {{10.0, 0.02}};         // IRF4905 [IR PD-94816]
    circuit.parts.main_threshold = {2.0, 3.0, 4.0};  // the same
    const SwitchLoad load = worst_switch_load(circuit);
    CHECK(load.below_published_drive);
    CHECK(load.needed_drive == 10.0);
    CHECK(load.on_resistance > 0.1);
}

TEST_CASE("A hot switch settles above the hand formula, and a runaway is over the limit") {
    Circuit circuit = logger_circuit();
    Values values = values_at(circuit, everything_typical());
    values.parts.load_current = 1.0;
    const SwitchLoad mild = switch_load(circuit, values);
    CHECK_THAT(mild.rise, WithinRel(mild.dissipation * 125.0, 1e-6));
    CHECK_THAT(mild.junction, WithinAbs(20.0 + mild.rise, 1e-9));
    values.parts.load_current = 6.0;
    CHECK(switch_load(circuit, values).over_junction_limit);
    CHECK(switch_load(circuit, values).over_current_limit);
}

TEST_CASE("5.2 V and 2 A leave 225 milliohms down to 4.75 V at the board") {
    CHECK_THAT(allowed_path_resistance(5.2, 4.75, 2.0), WithinRel(0.225, 1e-9));  // trade
}

TEST_CASE("Pulls of 10 kohm cost about half a milliampere each while on") {
    const Circuit circuit = logger_circuit();
    Values values = logger_values();
    values.parts.gate_pull = values.parts.feed_resistor = 10e3;
    const StandingCurrents currents = standing_currents(circuit, values);
    CHECK_THAT(currents.on_gate_pull, WithinAbs(0.5e-3, 0.01e-3));   // trade
    CHECK_THAT(currents.released_feed, WithinAbs(0.5e-3, 0.02e-3));  // trade
    CHECK(currents.on_latch_pull == 0.0);
    CHECK(currents.battery_days == 0.0);
}

TEST_CASE("A battery's days count its own discharge and the circuit's, and heat shortens them") {
    Circuit circuit = logger_circuit();
    circuit.demands.battery = 2.6;
    Values values = logger_values();
    const StandingCurrents mild = standing_currents(circuit, values);
    // 2 uA for 24 h of 2.6 Ah a day, and 3 % a month of 30.4 days.
    CHECK_THAT(mild.battery_days, WithinRel(1.0 / (48e-6 / 2.6 + 0.03 / 30.4), 1e-9));
    values.parts.temperature = 65.0;
    CHECK(standing_currents(circuit, values).battery_days < mild.battery_days);
}

TEST_CASE("The shortest press is gate and rail by RC, and grows with both") {
    const Circuit circuit = logger_circuit();
    Values values = logger_values();
    values.parts.button_resistor = 10e3;
    values.parts.rail_bleeder = infinite;
    const SwitchOn on = switch_on(circuit, values);
    const double parallel = 1.0 / (1.0 / 10e3 + 1.0 / 47e3);
    const double full = 5.0 * 47.0 / 57.0;  // V that the divider gives the gate in the end
    const double gate = parallel * 1e-9 * std::log(full / (full - 0.9));
    const double rail = 0.15 * 680e-6 * std::log(5.0 / (5.0 - 1.3));
    CHECK_THAT(on.shortest_press, WithinRel(gate + rail, 1e-6));
    CHECK_THAT(on.inrush, WithinRel(5.0 / 0.15, 1e-9));
    values.parts.gate_capacitance = 1e-6;
    CHECK(switch_on(circuit, values).shortest_press > on.shortest_press);
}

TEST_CASE("Gate-drain capacitance and the button's resistor limit the inrush") {
    const Circuit circuit = logger_circuit();
    Values values = logger_values();
    values.parts.button_resistor = 10e3;
    values.parts.drain_capacitance = 100e-9;
    const SwitchOn slow = switch_on(circuit, values);
    // dV/dt = I / C (trade): 4.1 V through 10 kohm out of 100 nF is 4.1 V/ms, of 680 uF 2.8 A.
    CHECK_THAT(slow.inrush, WithinRel(680e-6 * (5.0 - 0.9) / (10e3 * 100e-9), 1e-9));
    CHECK_THAT(slow.inrush, WithinAbs(2.8, 0.05));
    CHECK_THAT(slow.inrush_time, WithinRel(5.0 / 4.1e3, 1e-6));
    values.parts.drain_capacitance = 100e-12;
    CHECK_THAT(switch_on(circuit, values).inrush, WithinRel(5.0 / 0.15, 1e-9));  // the path's
}

TEST_CASE("A gate that hangs on ground more than on the supply starts the board by itself") {
    const Circuit circuit = logger_circuit();
    Values values = logger_values();
    values.parts.drain_capacitance = 0.1e-9;
    CHECK_FALSE(switch_on(circuit, values).starts_by_itself);
    values.parts.drain_capacitance = 1e-6;  // a capacitor soldered from gate to ground
    const SwitchOn on = switch_on(circuit, values);
    CHECK(on.coupled_drive > values.parts.main_threshold);
    CHECK(on.starts_by_itself);
}

TEST_CASE("A gate that is coupled just above its threshold passes too little to start the board") {
    const Circuit circuit = logger_circuit();
    Values values = logger_values();
    values.main = {250e-6, {2.5, 0.085}};
    values.parts.gate_pull = 1e6;
    values.parts.gate_capacitance = 10e-9;
    values.parts.drain_capacitance = 2.4e-9;
    const SwitchOn on = switch_on(circuit, values);
    REQUIRE(on.coupled_drive > values.parts.main_threshold);
    REQUIRE(on.coupled_drive < values.parts.main_threshold + 0.1);
    // I t / C of what it carries at its peak (EKV), not what the supply's path would let through.
    const double carries = TransistorLaw::mosfet(0.9, values.main, 25.0).current(on.coupled_drive);
    CHECK_THAT(on.coupled_rail, WithinRel(carries * on.coupled_time / 680e-6, 1e-9));
    CHECK_FALSE(on.starts_by_itself);
}

TEST_CASE("A line that is pulled up until the driver's probe charges the hold capacitor") {
    const Circuit circuit = logger_circuit();
    Values values = logger_values();
    values.parts.boot_pull = 50e3;
    values.parts.boot_time = 0.5;
    const SwitchOn short_boot = switch_on(circuit, values);
    CHECK(short_boot.boot_hold > 0.1);
    CHECK_FALSE(short_boot.boot_releases);
    values.parts.boot_time = 5.0;
    CHECK(switch_on(circuit, values).boot_releases);
    values.parts.boot_pull = infinite;
    CHECK(switch_on(circuit, values).boot_hold == 0.0);
}

TEST_CASE("Without the bleed resistor it cannot be switched on again for minutes") {
    const Circuit circuit = logger_circuit();
    Values values = logger_values();
    const double with = switch_on(circuit, values).ready_again;
    CHECK(with < 10.0);
    values.parts.bleed_resistor = infinite;
    values.parts.hold_leakage = values.parts.diode_leakage = 0.05e-6;
    CHECK(switch_on(circuit, values).ready_again > 120.0);
}
