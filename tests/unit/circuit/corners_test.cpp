// SPDX-License-Identifier: MIT
#include "circuit/corners.hpp"
#include "circuit/draw.hpp"
#include "support/logger_circuit.hpp"
#include "support/random_circuit.hpp"

#include <algorithm>
#include <cmath>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_floating_point.hpp>

using namespace nightlatch::circuit;
using Catch::Matchers::WithinAbs;

namespace {

double margin_at(const Circuit& circuit, const Position& position) {
    return simulate(values_at(circuit, position)).margin;
}

/// The logger with every typical value taken from a random circuit, and ten percent about it; each
/// seed another kind.
Circuit random_circuit(std::uint64_t seed) {
    const Values values = random_values(seed, all_kinds[seed % all_kinds.size()]);
    Circuit circuit = logger_circuit();
    for (const Parameter& parameter : parameters()) {
        const double value = values.parts.*parameter.value;
        circuit.parts.*parameter.spread =
            value == infinite ? Spread::exactly(value) : Spread::within(value, 0.1);
    }
    circuit.parts.temperature = {0.0, 25.0, 50.0};
    circuit.diode = values.diode;
    return circuit;
}

/// Where the first active level decides alone: the line has died before it ends.
bool is_decided_at_once(const Transient& transient, const Values& values) {
    if (transient.outcome == Outcome::never_on || transient.outcome == Outcome::never_releases) {
        return false;
    }
    const double fall =
        values.parts.rail_capacitance * values.parts.supply_voltage / values.parts.halt_current;
    return transient.pulse == 1 && transient.opened_at + fall < values.pulses.active;
}

Position any_position(std::uint64_t seed) {
    Position position{};
    Draw draw(seed);
    for (double& place : position) {
        place = draw.uniform();
    }
    return position;
}

/// Checks it at nine places; how many of them could be compared.
int rises_away_from_its_bad_end(const Circuit& circuit, Position position, std::size_t i) {
    const BadEnd bad = parameters()[i].bad;
    if (bad != BadEnd::least && bad != BadEnd::most) {
        return 0;
    }
    int tried = 0;
    double before = -infinite;
    for (int step = 0; step <= 8; ++step) {
        position[i] = bad == BadEnd::least ? step / 8.0 : 1.0 - step / 8.0;
        const Values values = values_at(circuit, position);
        const Transient transient = simulate(values);
        if (is_decided_at_once(transient, values)) {
            CHECK(transient.margin >= before - 1e-9);
            before = transient.margin;
            ++tried;
        }
    }
    return tried;
}

}  // namespace

TEST_CASE("A part that is said to have one bad end never makes the margin smaller at the other") {
    int tried = 0;
    for (std::uint64_t seed = 1; seed <= 1000; ++seed) {
        const Circuit circuit = random_circuit(seed);
        const Position position = any_position(seed);
        const Values drawn = values_at(circuit, position);
        if (!is_decided_at_once(simulate(drawn), drawn) || circuit.diode.count == 0) {
            continue;  // through a bridged diode the series resistor discharges, too
        }
        for (std::size_t i = 0; i < parameter_count; ++i) {
            INFO("circuit " << seed << ", " << parameters()[i].key);
            tried += rises_away_from_its_bad_end(circuit, position, i);
        }
    }
    CHECK(tried > 5000);
}

namespace {

/// The smallest margin of many circuits, every second of them at a corner.
double least_margin_drawn(const Circuit& circuit, std::uint64_t seed) {
    constexpr int many = 3000;
    Draw draw(seed);
    Position position{};
    double least = infinite;
    for (int i = 0; i < many; ++i) {
        for (double& place : position) {
            const double drawn = draw.uniform();
            place = i % 2 == 0 ? drawn : std::round(drawn);
        }
        least = std::min(least, margin_at(circuit, position));
    }
    return least;
}

}  // namespace

TEST_CASE("No circuit within the spreads is worse than the worst case") {
    for (std::uint64_t seed = 1; seed <= 16; ++seed) {
        const Circuit circuit = seed == 1 ? logger_circuit() : random_circuit(seed);
        const WorstCase worst = worst_case(circuit);
        INFO("circuit " << seed);
        CHECK(worst.transient.margin <= least_margin_drawn(circuit, seed) + 1e-9);
        CHECK_THAT(margin_at(circuit, worst.position), WithinAbs(worst.transient.margin, 1e-12));
    }
}

TEST_CASE("No circuit within the spreads needs a longer pulse than is said") {
    constexpr int drawn = 300;
    int finite = 0;
    int longer_than_at_the_smallest_margin = 0;
    for (std::uint64_t seed = 1; seed <= 60; ++seed) {
        const Circuit circuit = seed == 1 ? logger_circuit() : random_circuit(seed);
        const double said = worst_pulse(circuit);
        INFO("circuit " << seed);
        if (std::isinf(said)) {
            continue;
        }
        ++finite;
        const double elsewhere = shortest_pulse(worst_case(circuit).values);
        longer_than_at_the_smallest_margin += said > elsewhere * 1.01 ? 1 : 0;
        for (std::uint64_t i = 0; i < drawn; ++i) {
            Position position = any_position(seed * drawn + i);
            if (i % 2 == 0) {
                std::transform(position.begin(), position.end(), position.begin(), [](double p) {
                    return std::round(p);
                });
            }
            CHECK(shortest_pulse(values_at(circuit, position)) <= said * 1.002);
        }
    }
    CHECK(finite > 10);
    CHECK(longer_than_at_the_smallest_margin > 3);
}

TEST_CASE("The logger stays off in the worst case, and the same seed draws the same circuits") {
    const Circuit circuit = logger_circuit();
    const WorstCase worst = worst_case(circuit);
    CHECK(worst.transient.outcome == Outcome::stays_off);
    const MonteCarlo first = monte_carlo(circuit, 5000, 7);
    CHECK(first.stay_off == 5000);
    CHECK(first.thousandth >= worst.transient.margin);
    CHECK(first.thousandth <= first.hundredth);
    CHECK(first.hundredth <= first.tenth);
    CHECK(first.tenth <= first.half);
    CHECK(first.half <= first.nine_tenths);
    CHECK(monte_carlo(circuit, 5000, 7).half == first.half);
    CHECK(monte_carlo(circuit, 5000, 8).half != first.half);
}

TEST_CASE("The thresholds' table shows which combination fails: release high, latch low") {
    Circuit circuit = logger_circuit();
    circuit.parts.release_threshold = {0.8, 2.1, 3.0};  // 2N7000 [onsemi NDS7002A/D]
    const auto table = threshold_table(circuit);
    REQUIRE(table.size() == 9);
    CHECK(table[0].outcome == Outcome::stays_off);  // both low
    CHECK(table[6].outcome != Outcome::stays_off);  // release high, latch low
    CHECK(table[6].release_threshold == 3.0);
    CHECK(table[6].latch_threshold == 0.8);
    for (std::size_t row = 0; row < 9; row += 3) {
        CHECK(table[row].margin <= table[row + 1].margin);
        CHECK(table[row + 1].margin <= table[row + 2].margin);
    }
}

TEST_CASE("Thresholds at one temperature move together") {
    const Circuit circuit = logger_circuit();
    Position cold = everything_typical();
    Position hot = cold;
    const std::size_t temperature = *parameter_named("temperature");
    cold[temperature] = 0.0;
    hot[temperature] = 1.0;
    const Values at_cold = values_at(circuit, cold);
    const Values at_hot = values_at(circuit, hot);
    const double moved = at_cold.parts.release_threshold - at_hot.parts.release_threshold;
    CHECK_THAT(moved, WithinAbs(60.0 * 0.002, 1e-12));
    CHECK_THAT(at_cold.parts.latch_threshold - at_hot.parts.latch_threshold,
               WithinAbs(moved, 1e-12));
    CHECK(at_hot.parts.diode_leakage > 60.0 * at_cold.parts.diode_leakage);
}

TEST_CASE("Sensitivities come largest first, in words, without the parts that do nothing") {
    const auto list = sensitivities(logger_circuit());
    REQUIRE(list.size() > 10);
    for (std::size_t i = 1; i < list.size(); ++i) {
        CHECK(std::abs(list[i].at_most - list[i].at_least) <=
              std::abs(list[i - 1].at_most - list[i - 1].at_least));
    }
    for (const Sensitivity& one : list) {
        CHECK(parameters()[one.parameter].key != "load_current");
        CHECK(one.sentence.find("margin") != std::string::npos);
    }
}
