// SPDX-License-Identifier: MIT
#include "circuit/line_source.hpp"
#include "circuit/transient.hpp"
#include "example.hpp"

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
    REQUIRE(source.size() == 5);
    CHECK(source.current(0.1) == 0.0);
    CHECK_THAT(source.current(0.24 + 380e-4), WithinRel(1e-4, 1e-9));
    CHECK_THAT(source.current(0.32 + 380e-3), WithinRel(1e-3, 1e-9));
    CHECK_THAT(source.current(3.0), WithinRel(6e-3, 1e-9));
    CHECK(source.current(-1.0) == 0.0);
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
