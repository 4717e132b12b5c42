// SPDX-License-Identifier: MIT
// What a hundred thousand random circuits of each topology cost, beside a program that never
// changes (so that two commits can be compared on machines of different speed), and one circuit
// beside a stepping integrator of the same accuracy.
#include "bench/stepping.hpp"
#include "circuit/corners.hpp"
#include "circuit/draw.hpp"
#include "support/logger_circuit.hpp"

#include <algorithm>
#include <cmath>

#include <benchmark/benchmark.h>

using namespace nightlatch::circuit;
using nightlatch::bench::step_through;

namespace {

constexpr unsigned many = 100'000;
constexpr std::uint64_t seed = 11;  // any: the same circuits in every run

/// As many draws, exponentials and logarithms as a hundred thousand circuits asked for when there
/// was one topology: the measure for what follows.
void reference(benchmark::State& state) {
    constexpr int parts = 36;
    constexpr int events = 10;
    for (auto _ : state) {
        Draw draw(seed);
        double sum = 0.0;
        for (unsigned i = 0; i < many; ++i) {
            double product = 1.0;
            for (int part = 0; part < parts; ++part) {
                product *= 0.5 + draw.triangular();
            }
            for (int event = 0; event < events; ++event) {
                product = std::log1p(std::abs(std::expm1(-product))) + 0.1 * event;
            }
            sum += product;
        }
        benchmark::DoNotOptimize(sum);
    }
}

void monte_carlo_of_many(benchmark::State& state, const Circuit& circuit) {
    MonteCarlo result;
    for (auto _ : state) {
        result = monte_carlo(circuit, many, seed);
        benchmark::DoNotOptimize(result);
    }
    state.counters["stay_off"] = result.stay_off;
    state.counters["circuits/s"] =
        benchmark::Counter(many, benchmark::Counter::kIsIterationInvariantRate);
}

/// The logger with a BC847B in both places.
Circuit with_bipolar_stages() {
    Circuit circuit = logger_circuit();
    Parts<Spread>& parts = circuit.parts;
    parts.release_threshold = parts.latch_threshold = {0.58, 0.66, 0.70};
    parts.release_gain = parts.latch_gain = {100.0, 150.0, 450.0};
    parts.release_base = Spread::within(220e3, 0.05);
    parts.latch_pull = Spread::within(22e3, 0.05);
    circuit.release_conduction = circuit.latch_conduction = {2e-3, {0.7, 25.0}};
    return circuit;
}

Circuit with_active_low_line() {
    Circuit circuit = logger_circuit();
    Parts<Spread>& parts = circuit.parts;
    parts.line_resistance = Spread::exactly(0.0);
    parts.line_current = Spread::exactly(infinite);
    parts.line_pull = Spread::within(10e3, 0.05);
    parts.inverter_threshold = {0.8, 1.4, 2.0};
    parts.inverter_resistance = Spread::exactly(10.0);
    return circuit;
}

Circuit with_driven_gate() {
    Circuit circuit = logger_circuit();
    Parts<Spread>& parts = circuit.parts;
    parts.supply_voltage = {17.0, 19.0, 20.0};
    parts.gate_series = Spread::within(10e3, 0.05);
    parts.gate_zener = Spread::within(10.0, 0.05);
    return circuit;
}

/// A load switch with a quick discharge.
Circuit with_enable_pin() {
    Circuit circuit = logger_circuit();
    Parts<Spread>& parts = circuit.parts;
    parts.enable_threshold = {1.0, 1.2, 1.4};
    parts.enable_hysteresis = Spread::exactly(0.1);
    parts.enable_delay = {10e-6, 50e-6, 200e-6};
    parts.output_discharge = Spread::within(220.0, 0.3);
    return circuit;
}

void worst_case_of_one(benchmark::State& state) {
    const Circuit circuit = logger_circuit();
    for (auto _ : state) {
        benchmark::DoNotOptimize(worst_case(circuit));
    }
}

Values circuit_number(std::uint64_t number) {
    Draw draw(number);
    Position position{};
    for (double& place : position) {
        place = draw.triangular();
    }
    return values_at(logger_circuit(), position);
}

void events_of_one(benchmark::State& state) {
    const Values values = circuit_number(seed);
    for (auto _ : state) {
        benchmark::DoNotOptimize(simulate(values));
    }
}

/// Its step is halved until hold-off and rail fall are within 0.1 % and 0.1 ms of the events'.
void steps_of_one(benchmark::State& state) {
    const Values values = circuit_number(seed);
    const Transient exact = simulate(values);
    const auto is_near = [](double a, double b) {
        return std::abs(a - b) <= std::max(1e-4, 1e-3 * b);
    };
    double step = 1e-3;
    for (; step > 1e-8; step /= 2.0) {
        const auto stepped = step_through(values, step);
        if (is_near(stepped.hold_off, exact.hold_off) &&
            is_near(stepped.rail_fall, exact.rail_fall)) {
            break;
        }
    }
    for (auto _ : state) {
        benchmark::DoNotOptimize(step_through(values, step));
    }
    state.counters["step_us"] = step * 1e6;
}

BENCHMARK(reference)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(monte_carlo_of_many, discrete, logger_circuit())->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(monte_carlo_of_many, bipolar, with_bipolar_stages())
    ->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(monte_carlo_of_many, active_low_line, with_active_low_line())
    ->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(monte_carlo_of_many, driven_gate, with_driven_gate())
    ->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(monte_carlo_of_many, enable_pin, with_enable_pin())
    ->Unit(benchmark::kMillisecond);
BENCHMARK(worst_case_of_one)->Unit(benchmark::kMillisecond);
BENCHMARK(events_of_one)->Unit(benchmark::kMicrosecond);
BENCHMARK(steps_of_one)->Unit(benchmark::kMicrosecond);

}  // namespace

BENCHMARK_MAIN();
