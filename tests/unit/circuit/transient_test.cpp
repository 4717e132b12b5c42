// SPDX-License-Identifier: MIT
#include "circuit/corners.hpp"
#include "circuit/line_source.hpp"
#include "circuit/transient.hpp"
#include "example.hpp"
#include "support/logger_circuit.hpp"
#include "support/random_circuit.hpp"

#include <cmath>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_floating_point.hpp>

using namespace nightlatch::circuit;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

// Check values marked "trade" are common practice, no source.

TEST_CASE("Hold times from 3.08 V are those that the trade computes by hand") {
    // 22 uF and 100 kohm, five thresholds (trade).
    CHECK_THAT(discharge_time(3.08, 0.8, 100e3, 22e-6), WithinAbs(2.97, 0.005));
    CHECK_THAT(discharge_time(3.08, 1.3, 100e3, 22e-6), WithinAbs(1.90, 0.005));
    CHECK_THAT(discharge_time(3.08, 1.5, 100e3, 22e-6), WithinAbs(1.58, 0.005));
    CHECK_THAT(discharge_time(3.08, 2.1, 100e3, 22e-6), WithinAbs(0.84, 0.005));
    CHECK_THAT(discharge_time(3.08, 3.0, 100e3, 22e-6), WithinAbs(0.06, 0.005));
}

TEST_CASE("A capacitor is at 37 % after one time constant and at 0.7 % after five") {
    // [Wikipedia, "RC circuit"]
    const double constant = 100e3 * 22e-6;
    CHECK_THAT(discharge_time(5.0, 0.37 * 5.0, 100e3, 22e-6), WithinRel(constant, 0.01));
    CHECK_THAT(discharge_time(5.0, 0.007 * 5.0, 100e3, 22e-6), WithinRel(5.0 * constant, 0.01));
    CHECK(discharge_time(1.0, 1.5, 100e3, 22e-6) == 0.0);
}

namespace {

/// 10 ohm, 22 uF, 100 kohm, no leakage, a drop of 0.22 V: hold of 3.08 V as above (trade).
Values hand_circuit() {
    Values values = logger_values();
    Parts<double>& parts = values.parts;
    parts.series_resistor = 10.0;
    parts.line_resistance = 0.0;
    parts.line_current = infinite;
    parts.hold_capacitor = 22e-6;
    parts.hold_leakage = parts.diode_leakage = 0.0;
    parts.bleed_resistor = 100e3;
    values.diode.points[0] = {1e-4, 0.22};
    values.diode.count = 1;
    return values;
}

}  // namespace

TEST_CASE(
    "The transient's hold-off is the hand formula's when the line dies with the capacitor full") {
    for (const double threshold : {0.8, 1.3, 1.5, 2.1, 3.0}) {
        Values values = hand_circuit();
        values.parts.release_threshold = threshold;
        values.parts.rail_bleeder = 22.0;  // the rail falls at once after the line has died
        const Transient result = simulate(values);
        // The line lives until the rail is at 3.4 V: C dV / I of the halted board and the bleeder.
        const double alive = result.opened_at + 680e-6 * 1.6 / (0.25 + 4.2 / 22.0);
        INFO(threshold);
        CHECK_THAT(result.hold_voltage, WithinAbs(3.08, 0.001));
        CHECK_THAT(result.opened_at + result.hold_off,
                   WithinAbs(alive + discharge_time(3.08, threshold, 100e3, 22e-6), 2e-3));
        CHECK(result.outcome == Outcome::stays_off);
        CHECK(result.pulse == 1);
    }
}

TEST_CASE("The capacitor charges with the time constant of the series resistor") {
    // 10 ohm and 22 uF: 220 us, so that the first pulse of 100 ms is ample (trade).
    Values values = hand_circuit();
    values.parts.release_threshold = 3.08 * (1.0 - std::exp(-1.0));
    values.parts.bleed_resistor = 100e6;
    CHECK_THAT(simulate(values).released_at, WithinRel(220e-6, 1e-3));
    values.parts.series_resistor = 220.0;
    CHECK_THAT(simulate(values).released_at, WithinRel(4.84e-3, 1e-3));
}

TEST_CASE("The diode's pieces meet, and the driver's limit ends them") {
    Values values = logger_values();
    const LineSource source(values, 50.0, 6e-3);
    REQUIRE(source.size() == 6);
    CHECK(source.current(0.1) == 0.0);
    CHECK_THAT(source.current(0.24 + 380e-4), WithinRel(1e-4, 1e-9));
    CHECK_THAT(source.current(0.32 + 380e-3), WithinRel(1e-3, 1e-9));
    CHECK_THAT(source.current(3.0), WithinRel(6e-3, 1e-9));
    CHECK_THAT(source.current(-1.0), WithinRel(-values.parts.diode_leakage, 1e-9));
    values.diode.count = 0;
    CHECK_THAT(LineSource(values, 50.0, 6e-3).current(-0.38), WithinRel(-1e-3, 1e-9));
}

TEST_CASE("The logger's supply lets go on the first pulse and stays off") {
    const Transient result = simulate(logger_values());
    CHECK(result.outcome == Outcome::stays_off);
    CHECK(result.pulse == 1);
    CHECK(result.margin > 0.5);
    CHECK_THAT(result.rail_on, WithinAbs(4.96, 0.01));
    CHECK(result.released_at < result.opened_at);
}

TEST_CASE("Without the hold capacitor the supply comes straight back") {
    Values values = logger_values();
    values.parts.hold_capacitor = 0.0;
    const Transient result = simulate(values);
    CHECK(result.outcome == Outcome::comes_back);
    CHECK(result.margin < 0.0);
}

TEST_CASE("With the diode bridged the dead line empties the capacitor and the supply comes back") {
    Values values = logger_values();
    values.diode.count = 0;
    const Transient result = simulate(values);
    CHECK(result.outcome == Outcome::comes_back);
    CHECK(result.margin < 0.0);
}

TEST_CASE("Without the feed resistor the release transistor shorts the rail and nothing opens") {
    Values values = logger_values();
    values.parts.feed_resistor = 0.0;
    CHECK(simulate(values).outcome == Outcome::never_releases);
}

TEST_CASE("A rail that is fed from outside never falls far enough") {
    Values values = logger_values();
    values.parts.back_feed_voltage = 2.5;
    values.parts.back_feed_current = 20e-3;
    const Transient result = simulate(values);
    CHECK(result.outcome == Outcome::comes_back);
    CHECK(result.rail_fall == infinite);
    CHECK(result.rail_settles > 2.0);
}

TEST_CASE("A threshold above what the line can charge never releases") {
    Values values = logger_values();
    values.parts.release_threshold = 3.2;
    CHECK(simulate(values).outcome == Outcome::never_releases);
}

TEST_CASE("When one pulse is too short for the capacitor, the second, which has no end, opens it") {
    Values values = logger_values();
    values.parts.series_resistor = 12e3;  // 0.4 s with 33 uF
    values.parts.release_threshold = 1.1;
    const Transient result = simulate(values);
    CHECK(result.pulse == 2);
    CHECK(result.opened_at > 0.2);
}

TEST_CASE("The shortest pulse that suffices is shorter for a smaller capacitor") {
    Values values = logger_values();
    const double shortest = shortest_pulse(values);
    CHECK(shortest > 1e-3);
    CHECK(shortest < 0.1);
    values.parts.hold_capacitor = 100e-6;
    CHECK(shortest_pulse(values) > shortest);
}

TEST_CASE("A picture of a run is smooth: no voltage is off by what is seen") {
    std::vector<TracePoint> trace;
    static_cast<void>(simulate(values_at(logger_circuit(), everything_typical()), &trace));
    for (std::size_t i = 1; i + 1 < trace.size(); ++i) {
        const TracePoint& before = trace[i - 1];
        const TracePoint& after = trace[i + 1];
        const bool event = trace[i].time == before.time || trace[i].time == after.time;
        if (event || after.time <= before.time) {
            continue;
        }
        // Straight over two steps is four times as far off as over one.
        const double part = (trace[i].time - before.time) / (after.time - before.time);
        const double straight = before.rail + part * (after.rail - before.rail);
        INFO("at " << trace[i].time << " s");
        CHECK(std::abs(trace[i].rail - straight) < 0.01);
    }
}

TEST_CASE("A picture of a run is in order of time and ends when the transistor lets go") {
    std::vector<TracePoint> trace;
    const Transient result = simulate(logger_values(), &trace);
    REQUIRE(trace.size() > 50);
    for (std::size_t i = 1; i < trace.size(); ++i) {
        CHECK(trace[i].time >= trace[i - 1].time);
    }
    CHECK_THAT(trace.back().time, WithinRel(result.opened_at + result.hold_off, 1e-6));
    CHECK(trace.front().rail == result.rail_on);
}

namespace {

/// Infinite is "never", and there is no other honest absence.
bool is_told(double value) {
    return !std::isnan(value);
}

bool is_whole(const Transient& run) {
    return is_told(run.released_at) && is_told(run.opened_at) && is_told(run.rail_fall) &&
           is_told(run.hold_off) && is_told(run.margin) && std::isfinite(run.hold_voltage) &&
           std::isfinite(run.rail_on) && std::isfinite(run.rail_settles) &&
           std::isfinite(run.latch_level);
}

}  // namespace

TEST_CASE("Over the whole range of legal values every number is finite, or honestly absent") {
    unsigned on = 0;
    for (std::uint64_t seed = 1; seed <= 20'000; ++seed) {
        const Values values = any_values(seed);
        const Transient run = simulate(values);
        INFO("seed " << seed << ", " << text_of(run.outcome));
        REQUIRE(is_whole(run));
        REQUIRE(run.rail_on <=
                std::max(values.parts.supply_voltage, values.parts.regulator_output) * (1 + 1e-9) +
                    values.parts.back_feed_voltage);
        REQUIRE((run.hold_off >= 0.0 && run.rail_fall >= 0.0));
        on += run.outcome != Outcome::never_on ? 1U : 0U;
    }
    CHECK(on > 2'000);
}

TEST_CASE("A boosted line lives down to the cut-out, and a stated level holds") {
    // A cell of 3.2 V, logic at 3.3 V from a boost converter behind the switch.
    Values values = logger_values();
    values.parts.supply_voltage = 3.2;
    values.parts.line_high = 3.3;
    values.parts.cut_out = 2.5;
    CHECK(dead_level(values, stages_of(values)) == 2.5);
    CHECK(simulate(values).outcome == Outcome::stays_off);
    values.parts.line_dies = 2.9;
    CHECK(dead_level(values, stages_of(values)) == 2.9);
    const Transient earlier = simulate(values);
    CHECK(earlier.hold_off < infinite);
    values.parts.line_dies = 5.0;  // above the rail: the line never lives
    CHECK(simulate(values).outcome == Outcome::never_releases);
    CHECK(simulate(values).hold_voltage == 0.0);
}

TEST_CASE("A diode's reverse leakage drains the capacitor only while the diode blocks") {
    // Hot, a large Schottky diode leaks a milliampere (1N5817, from memory); while the
    // line is high it conducts all the same, and carries the bleed resistor's current alone.
    Values values = hand_circuit();
    values.parts.series_resistor = 1e3;
    values.parts.bleed_resistor = 1e6;
    values.parts.release_threshold = 3.2;  // never reached: where it settles is what counts
    const double tight = simulate(values).hold_voltage;
    values.parts.diode_leakage = 1e-3;
    const double leaky = simulate(values).hold_voltage;
    CHECK_THAT(tight, WithinAbs(3.3 - 0.22, 0.01));
    CHECK_THAT(leaky, WithinAbs(tight, 0.001));
    // The line dead, it does: to a milliampere 22 uF lose a volt in 22 ms, to 1 Mohm in some 8 s.
    values.parts.release_threshold = 2.0;
    const double held = simulate(values).hold_off;
    values.parts.diode_leakage = 0.0;
    CHECK(simulate(values).hold_off > 50.0 * held);
}
