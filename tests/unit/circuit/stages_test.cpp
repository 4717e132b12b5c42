// SPDX-License-Identifier: MIT
// What each kind of stage asks of its neighbours, by hand.
#include "circuit/parameters.hpp"
#include "circuit/stages.hpp"
#include "circuit/switch_on.hpp"
#include "circuit/transient.hpp"
#include "circuit/transistor_law.hpp"
#include "example.hpp"
#include "support/logger_circuit.hpp"

#include <cmath>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_floating_point.hpp>

using namespace nightlatch::circuit;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

TEST_CASE("A MOSFET's control voltage is the published one at its test current") {
    for (const double test : {250e-6, 1e-3}) {
        const Conduction at{test, {4.5, 6.0}};
        CHECK_THAT(TransistorLaw::mosfet(1.3, at, 25.0).control(test), WithinAbs(1.3, 1e-12));
        CHECK(TransistorLaw::mosfet(1.3, at, 25.0).control(test / 10.0) < 1.3);
    }
}

TEST_CASE("Current and control voltage are each other's inverse") {
    const Conduction at{250e-6, {2.5, 0.085}};
    for (const double amperes : {1e-9, 1e-6, 250e-6, 1e-2, 5.0}) {
        const double volts = TransistorLaw::mosfet(0.9, at, 40.0).control(amperes);
        CHECK_THAT(TransistorLaw::mosfet(0.9, at, 40.0).current(volts), WithinRel(amperes, 1e-6));
    }
}

TEST_CASE("In weak inversion a decade of current is n kT/q ln 10, in strong its square root") {
    // 1.5 * 25.69 mV * 2.3026 = 88.7 mV [Enz, Krummenacher, Vittoz 1995; kT/q at 25 degrees].
    const Conduction at{250e-6, {4.5, 6.0}};
    const auto volts = [&](double amperes) {
        return TransistorLaw::mosfet(1.3, at, 25.0).control(amperes);
    };
    CHECK_THAT(volts(1e-9) - volts(1e-10), WithinAbs(88.7e-3, 0.3e-3));
    // I = beta / (2 n) (V - VT0)^2, beta = 1 / (6 ohm * 3.2 V): twice the overdrive, four times the
    // current.
    const double beta = 1.0 / (6.0 * 3.2);
    CHECK_THAT(volts(1.0) - volts(0.25), WithinRel(std::sqrt(3.0 / beta) / 2.0, 2e-3));
}

TEST_CASE("A bipolar transistor's base-emitter voltage rises by 59 mV a decade") {
    const Conduction at{2e-3, {}};
    CHECK_THAT(TransistorLaw::bipolar(0.66, at, 25.0).control(2e-3), WithinAbs(0.66, 1e-12));
    CHECK_THAT(TransistorLaw::bipolar(0.66, at, 25.0).control(20e-3) - 0.66,
               WithinAbs(59.2e-3, 0.1e-3));
}

TEST_CASE("The latch level lies below the published threshold, by what the circuit asks for") {
    Values values = logger_values();
    values.latch = {1e-3, {4.5, 6.0}};
    const double weak = stages_of(values).latch_level;
    CHECK(weak < values.parts.latch_threshold - 0.2);
    // 0.45 V over 47 kohm are some 10 uA: two decades below the test current, strong at first.
    CHECK(weak > values.parts.latch_threshold - 0.4);
    values.parts.gate_pull = 2e3;
    CHECK(stages_of(values).latch_level > weak);
    values.parts.latch_pull = values.parts.feed_resistor;
    CHECK(stages_of(values).latch_level > 1.9 * weak);
}

TEST_CASE("An NPN release stage needs base current, and empties the hold capacitor by it") {
    Values values = logger_values();
    const double without = simulate(values).hold_off;
    Parts<double>& parts = values.parts;
    parts.release_gain = 100.0;
    parts.release_base = 100e3;
    parts.release_threshold = 0.66;
    // Through 22 kohm flow (4.96 - 1.3) / 22 kohm = 166 uA: 1.66 uA into the base, 0.166 V.
    const Stages stages = stages_of(values);
    CHECK_THAT(stages.release_level, WithinAbs(0.66 + 0.166, 0.001));
    CHECK(stages.base_level == 0.66);
    const double with = simulate(values).hold_off;
    parts.release_base = 47e3;
    CHECK(simulate(values).hold_off < with);
    CHECK(with > 0.0);
    CHECK(without > 0.0);
}

TEST_CASE("The capacitor's discharge through base and bleed resistor is the hand formula's") {
    // From V to the base's level: both conductances towards their common rest.
    Values values = logger_values();
    Parts<double>& parts = values.parts;
    parts.release_gain = 200.0;
    parts.release_base = 47e3;
    parts.release_threshold = 0.66;
    parts.diode_leakage = parts.hold_leakage = 0.0;
    parts.rail_bleeder = 22.0;
    parts.bleed_resistor = 150e3;
    const Transient run = simulate(values);
    const Stages stages = stages_of(values);
    const double conductance = 1.0 / 47e3 + 1.0 / 150e3;
    const double rest = 0.66 / 47e3 / conductance;
    const double expected = parts.hold_capacitor / conductance *
                            std::log((run.hold_voltage - rest) / (stages.release_level - rest));
    const double alive = 680e-6 * (run.rail_on - 3.4) / (0.25 + 4.2 / 22.0);
    CHECK_THAT(run.hold_off, WithinAbs(alive + expected, 5e-3));
}

TEST_CASE("An NPN latch takes its base current through the feed resistor") {
    Values values = logger_values();
    Parts<double>& parts = values.parts;
    parts.latch_gain = 100.0;
    parts.latch_threshold = 0.66;
    const Stages stages = stages_of(values);
    // 5 V over 47 kohm are 106 uA, 1.06 uA of base current, 23 mV at 22 kohm.
    CHECK_THAT(stages.staying_level, WithinAbs(0.66 + 0.0234, 0.001));
    CHECK(stages.latch_level < 0.66);
    CHECK(stages.latch_level > 0.45);
}

TEST_CASE("Divider and Zener diode set what the main switch's gate gets") {
    Values values = logger_values();
    values.parts.supply_voltage = 24.0;
    values.parts.gate_series = 47e3;
    CHECK_THAT(gate_drive(values.parts), WithinRel(12.0, 1e-12));
    values.parts.gate_zener = 10.0;
    CHECK(gate_drive(values.parts) == 10.0);
    // The lower drive is the sooner gone: R C ln(drive / threshold).
    const Transient limited = simulate(values);
    CHECK_THAT(limited.opened_at - limited.released_at,
               WithinRel(47e3 * 1e-9 * std::log(10.0 / 0.9), 1e-9));
}

TEST_CASE("An open-drain line charges through its pull-up, before the driver's probe too") {
    Values values = logger_values();
    values.parts.line_pull = 10e3;
    CHECK(stages_of(values).line_resistance == 10e3);
    CHECK_THAT(stages_of(values).pin_current, WithinRel(0.33e-3, 1e-12));
    CHECK(simulate(values).released_at > simulate(logger_values()).released_at);
    values.parts.boot_time = 2.0;
    CHECK(switch_on(logger_circuit(), values).boot_releases);
}

TEST_CASE("An active-low line charges through its inverter, and only a pull-down does at boot") {
    Values values = logger_values();
    values.parts.inverter_threshold = 0.9;
    values.parts.inverter_resistance = 0.06;
    values.parts.line_pull = 10e3;
    values.parts.boot_time = 2.0;
    // 4.5 V less the threshold are 3.6 V, and 3.3 V are 2.4 V: so much more resistance; beta is
    // 1 / (0.06 ohm * 3.6 V), and I = beta / (2 * 1.5) * (2.4 V)^2 at most.
    CHECK_THAT(stages_of(values).line_resistance, WithinRel(0.06 * 3.6 / 2.4, 1e-9));
    CHECK_THAT(stages_of(values).line_current, WithinRel(2.4 * 2.4 / (3.0 * 0.06 * 3.6), 1e-9));
    CHECK_FALSE(switch_on(logger_circuit(), values).boot_releases);
    values.parts.boot_pull = 50e3;  // 3.3 V * 10 / 60: 0.55 V, below the inverter's threshold
    CHECK_FALSE(switch_on(logger_circuit(), values).boot_releases);
    values.parts.boot_pull = 10e3;  // 1.65 V
    CHECK(switch_on(logger_circuit(), values).boot_releases);
}

TEST_CASE("An enable pin takes the place of latch and gate, with its hysteresis and delay") {
    Values values = logger_values();
    Parts<double>& parts = values.parts;
    parts.enable_threshold = 1.2;
    parts.enable_hysteresis = 0.13;
    parts.enable_delay = 2e-3;
    parts.output_discharge = infinite;
    const Stages stages = stages_of(values);
    CHECK(stages.latch_level == 1.2);
    const Transient run = simulate(values);
    CHECK_THAT(run.opened_at - run.released_at, WithinRel(2e-3, 1e-9));
    CHECK(run.outcome == Outcome::stays_off);
    parts.output_discharge = 100.0;
    CHECK(simulate(values).rail_fall < run.rail_fall);
    parts.regulator_output = 4.8;
    CHECK(simulate(values).rail_on < 4.8);
    CHECK(simulate(values).rail_on > 4.7);
}

TEST_CASE("The margin is told in volts of rail, too") {
    const Transient run = simulate(logger_values());
    // The rail at the end is next to nothing: the whole latch level is left.
    CHECK(run.rail_margin > 0.0);
    CHECK(run.rail_margin <= run.latch_level);
    Values values = logger_values();
    values.parts.hold_capacitor = 0.1e-6;
    CHECK(simulate(values).rail_margin < 0.0);
}

TEST_CASE("A stated RDS(on) of the release transistor is what its law takes") {
    Circuit circuit = logger_circuit();
    circuit.release_conduction = {};
    circuit.parts.feed_resistor = Spread::exactly(1e3);  // several milliamperes
    circuit.parts.release_resistance = Spread::exactly(2.0);
    const double stiff = stages_of(values_at(circuit, everything_typical())).release_level;
    circuit.parts.release_resistance = Spread::exactly(100.0);
    CHECK(stages_of(values_at(circuit, everything_typical())).release_level > stiff + 0.2);
}

TEST_CASE(
    "A release stage that is on sooner may open the supply in an earlier pulse, for nothing") {
    // A first level that charges to between the published threshold and the one that microamperes
    // take; the second reaches both, and would have held.
    Values values = logger_values();
    values.release = {1e-3, {4.5, 6.0}};
    values.parts.feed_resistor = 470e3;
    values.parts.gate_capacitance = 0.01e-9;
    values.parts.series_resistor = 2e3;
    values.parts.rail_bleeder = 100.0;
    const Stages stages = stages_of(values);
    REQUIRE(stages.release_begins < stages.release_level - 0.2);
    values.pulses = {0.024, 0.1, 3.0};
    const Transient run = simulate(values);
    CHECK(run.release_begins < stages.release_begins);  // the diode's real curve counts, too
    CHECK(run.outcome == Outcome::comes_back);
    values.pulses.active = 0.1;  // the first level is enough for either
    CHECK(simulate(values).release_begins == stages.release_level);
}
