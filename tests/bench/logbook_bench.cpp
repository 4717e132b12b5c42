// SPDX-License-Identifier: MIT
// What reading a logbook costs, of ten records and of a hundred thousand: time and memory for each.
#include "logbook/overview.hpp"
#include "logbook/read.hpp"
#include "logbook/record_text.hpp"
#include "support/allocations.hpp"
#include "unit/logbook/made.hpp"

#include <benchmark/benchmark.h>

using namespace nightlatch;
using namespace nightlatch::logbook;

namespace {

std::string book_with(std::int64_t records) {
    std::string text;
    for (unsigned run = 1; run <= records / 2; ++run) {
        text += line_of(test::started(run)) + line_of(test::ended(run));
    }
    return text;
}

void read_logbook(benchmark::State& state) {
    const std::int64_t records = state.range(0);
    const std::string text = book_with(records);
    const std::size_t held = test::held();
    test::forget_most();
    for (auto _ : state) {
        const Book book = book_of(read_records(text).records, "");
        benchmark::DoNotOptimize(overview_of(book.runs));
    }
    using benchmark::Counter;
    state.counters["bytes/record"] =
        static_cast<double>(test::most_held() - held) / static_cast<double>(records);
    state.counters["time/record"] = Counter(static_cast<double>(records),
                                            Counter::kIsIterationInvariantRate | Counter::kInvert);
}

BENCHMARK(read_logbook)->RangeMultiplier(10)->Range(10, 100'000)->Unit(benchmark::kMicrosecond);

}  // namespace

BENCHMARK_MAIN();
