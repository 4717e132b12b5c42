// SPDX-License-Identifier: MIT
// What a hundred thousand random circuits cost, beside a stepping integrator of the same accuracy.
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

void monte_carlo_of_many(benchmark::State& state) {
    const Circuit circuit = logger_circuit();
    MonteCarlo result;
    for (auto _ : state) {
        result = monte_carlo(circuit, many, seed);
        benchmark::DoNotOptimize(result);
    }
    state.counters["stay_off"] = result.stay_off;
    state.counters["circuits/s"] =
        benchmark::Counter(many, benchmark::Counter::kIsIterationInvariantRate);
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

BENCHMARK(monte_carlo_of_many)->Unit(benchmark::kMillisecond);
BENCHMARK(worst_case_of_one)->Unit(benchmark::kMillisecond);
BENCHMARK(events_of_one)->Unit(benchmark::kMicrosecond);
BENCHMARK(steps_of_one)->Unit(benchmark::kMicrosecond);

}  // namespace

BENCHMARK_MAIN();
