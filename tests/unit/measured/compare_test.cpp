// SPDX-License-Identifier: MIT
#include "circuit/draw.hpp"
#include "circuit/stages.hpp"
#include "measured/band.hpp"
#include "measured/compare.hpp"
#include "support/logger_circuit.hpp"
#include "support/seeds.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_floating_point.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::circuit;
using namespace nightlatch::measured;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::WithinRel;

namespace {

constexpr Decay two_volts{0.0, 2.0, 0.5, 0.0, 0.0, 0.0};

/// Alone at the capacitor: R C, as any textbook has it.
Values without_leakage() {
    Values values = values_at(logger_circuit(), everything_typical());
    values.parts.hold_leakage = 0.0;
    values.parts.diode_leakage = 0.0;
    return values;
}

/// The computed run as a capture; from `begin` before the pulse on.
Waves captured(const Values& values, double step) {
    std::vector<TracePoint> trace;
    simulate(values, &trace);
    std::vector<VoltPoint> line;
    std::vector<VoltPoint> hold;
    std::vector<VoltPoint> rail;
    constexpr double before = 0.05;
    for (double time = -before; time < trace.back().time; time += step) {
        const auto after = std::lower_bound(
            trace.begin(), trace.end(), time, [](const TracePoint& point, double when) {
                return point.time < when;
            });
        const TracePoint& point = *after;
        line.push_back({time + before, time < 0.0 ? 0.0 : point.line});
        hold.push_back({time + before, time < 0.0 ? 0.0 : point.hold});
        rail.push_back({time + before, point.rail});
    }
    return {CapturedCurve(line), CapturedCurve(hold), CapturedCurve(rail)};
}

}  // namespace

TEST_CASE("a discharge by the bleed resistor alone is R C, and a probe lies across it",
          "[measured]") {
    const Values values = without_leakage();
    const double rc = values.parts.hold_capacitor * values.parts.bleed_resistor;
    CHECK_THAT(decay_time(values, two_volts, infinite), WithinRel(rc, 1e-5));
    // 150 kohm beside 10 Mohm are 147.8 kohm.
    CHECK_THAT(decay_time(values, two_volts, 10e6),
               WithinRel(rc / (1.0 + values.parts.bleed_resistor / 10e6), 1e-5));
}

TEST_CASE("a leakage shortens the discharge as it must", "[measured]") {
    Values values = without_leakage();
    values.parts.bleed_resistor = infinite;
    values.parts.hold_leakage = 1e-6;
    // C dV / I.
    const double time = values.parts.hold_capacitor * 1.5 / 1e-6;
    CHECK_THAT(decay_time(values, two_volts, infinite), WithinRel(time / std::log(4.0), 1e-4));
}

TEST_CASE("a rail without a bleeder falls by I/C", "[measured]") {
    Values values = without_leakage();
    values.parts.rail_bleeder = infinite;
    values.parts.feed_resistor = 1e9;
    const double rate = values.parts.halt_current / values.parts.rail_capacitance;
    CHECK_THAT(fall_rate(values, 4.8, 3.5), WithinRel(rate, 1e-4));
}

TEST_CASE("no circuit within the spreads is outside a computed range", "[measured]") {
    const Circuit circuit = logger_circuit();
    constexpr std::array keys{std::string_view{"hold_capacitor"},
                              std::string_view{"bleed_resistor"},
                              std::string_view{"hold_leakage"},
                              std::string_view{"diode_leakage"},
                              std::string_view{"temperature"}};
    const auto decay = [](const Values& values) { return decay_time(values, two_volts, 10e6); };
    const Spread range = range_over(circuit, keys, decay);
    Draw draw(test::seed_for("circuits within a range"));
    Position position{};
    for (int i = 0; i < 2'000; ++i) {
        for (double& place : position) {
            place = draw.triangular();
        }
        const double value = decay(values_at(circuit, position));
        CHECK(value >= range.least * (1.0 - 1e-9));
        CHECK(value <= range.most * (1.0 + 1e-9));
    }
    CHECK(range.most > 2.0 * range.least);
}

TEST_CASE("the computed run itself is as computed, from typical parts and from any drawn",
          "[measured]") {
    const Circuit circuit = logger_circuit();
    Draw draw(test::seed_for("computed runs as captures"));
    Position position = everything_typical();
    unsigned stayed = 0;
    for (int i = 0; i < 40; ++i) {
        const Values values = values_at(circuit, position);
        if (simulate(values).outcome == circuit::Outcome::stays_off) {
            const Comparison comparison = compare(circuit, captured(values, 2e-4), infinite);
            for (const circuit::Finding& one : comparison.findings) {
                FAIL_CHECK(one.sentence);
            }
            CHECK(comparison.quantities.front().value);
            ++stayed;
        }
        for (double& place : position) {
            place = draw.triangular();
        }
    }
    CHECK(stayed > 20);
}

TEST_CASE("another bleed resistor is a finding that names all that share the discharge",
          "[measured]") {
    const Circuit circuit = logger_circuit();
    Values values = values_at(circuit, everything_typical());
    values.parts.bleed_resistor = 20e6;
    const Comparison comparison = compare(circuit, captured(values, 1e-3), infinite);
    REQUIRE(comparison.findings.size() == 1);
    const circuit::Finding& one = comparison.findings.front();
    CHECK(one.id == "wave-hold-rc");
    for (const char* part : {"the hold capacitor,",
                             "the bleed resistor",
                             "the hold capacitor's leakage",
                             "the diode's reverse leakage",
                             "one wave cannot tell which"}) {
        CHECK_THAT(one.remedy, ContainsSubstring(part));
    }
}

TEST_CASE("the band has typical parts and the worst corner in it", "[measured]") {
    const Circuit circuit = logger_circuit();
    const auto band = band_of(circuit, Anchor::opens, -0.01, 0.5);
    REQUIRE(band.size() > 200);
    const auto run = run_of(values_at(circuit, everything_typical()), Anchor::opens, 0.5);
    for (const BandPoint& point : band) {
        const auto after = std::lower_bound(
            run.begin(), run.end(), point.at, [](const TracePoint& one, double when) {
                return one.time < when;
            });
        if (after == run.begin() || after == run.end()) {
            continue;
        }
        CHECK(point.low.rail <= after->rail + 0.3);
        CHECK((after - 1)->rail <= point.high.rail + 0.3);
        CHECK(point.low.hold <= std::max(after->hold, (after - 1)->hold) + 1e-9);
    }
}
