// SPDX-License-Identifier: MIT
// How long rehearsals take, what an edge costs, and what a polling loop makes of the same presses.
#include "bench/polling_loop.hpp"
#include "bench/year_of_presses.hpp"
#include "rehearsal/bounce.hpp"
#include "rehearsal/rehearsal.hpp"
#include "rehearsal/scripted_post_halt.hpp"
#include "rehearsal/simulated_run.hpp"
#include "support/allocations.hpp"

#include <algorithm>
#include <cstdio>

#include <benchmark/benchmark.h>

using namespace nightlatch;
using namespace nightlatch::bench;
using namespace std::chrono_literals;

namespace {

constexpr Duration hold = 3s;
constexpr Duration frame = 16'666'667ns;  // 60 Hz
constexpr std::uint64_t seed = 20;        // any: the same presses in every run
constexpr int year = 365;
constexpr int week = 7;

/// Sixty milliseconds outlast every bounce of these presses.
config::Settings settings() {
    config::Settings settings;
    settings.button.where = {"soc-gpio", "LID_BUTTON"};
    settings.core.press_interval = 60ms;
    settings.core.release_interval = 60ms;
    settings.core.stages = {{"off", hold, core::Action::power_off}};
    return settings;
}

std::size_t edges_in(const rehearsal::PressScript& script) {
    return static_cast<std::size_t>(
        std::count_if(script.events.begin(), script.events.end(), [](const auto& event) {
            return std::holds_alternative<rehearsal::ButtonMoves>(event.step);
        }));
}

/// Which of the presses ended in one of `moments`, within a second of being let go.
std::vector<bool> ended_in(const std::vector<Press>& presses,
                           const std::vector<Duration>& moments) {
    std::vector<bool> ended(presses.size());
    for (std::size_t i = 0; i < presses.size(); ++i) {
        ended[i] = std::any_of(moments.begin(), moments.end(), [&](Duration at) {
            return at > presses[i].begin && at < presses[i].release + 1s;
        });
    }
    return ended;
}

struct Misjudged {
    std::size_t asked_too_short = 0;    ///< asked for power-off, held for less than the hold time
    std::size_t held_in_vain = 0;       ///< held for long enough, not asked
    std::size_t taken_for_several = 0;  ///< one press, seen as two or more

    [[nodiscard]] std::size_t all() const {
        return asked_too_short + held_in_vain + taken_for_several;
    }
};

std::size_t ends_of(const Press& press, const std::vector<Duration>& moments) {
    return static_cast<std::size_t>(std::count_if(moments.begin(), moments.end(), [&](Duration at) {
        return at > press.begin - 100ms && at < press.release + 1s;
    }));
}

Misjudged judge(const std::vector<Press>& presses,
                const std::vector<Duration>& requests,
                const std::vector<Duration>& near_misses) {
    Misjudged wrong;
    const std::vector<bool> asked = ended_in(presses, requests);
    for (std::size_t i = 0; i < presses.size(); ++i) {
        const bool meant = presses[i].release - presses[i].begin >= hold;
        const std::size_t seen = ends_of(presses[i], requests) + ends_of(presses[i], near_misses);
        wrong.asked_too_short += asked[i] && !meant ? 1U : 0U;
        wrong.held_in_vain += meant && !asked[i] ? 1U : 0U;
        wrong.taken_for_several += seen > 1 ? 1U : 0U;
    }
    return wrong;
}

Misjudged judge(const std::vector<Press>& presses, const rehearsal::Rehearsal& rehearsal) {
    std::vector<Duration> requests;
    for (const rehearsal::Asked& asked : rehearsal.asked) {
        requests.push_back(asked.at);
    }
    std::vector<Duration> near_misses;
    for (const rehearsal::Moment& moment : rehearsal.moments) {
        if (moment.whose == rehearsal::Whose::decision &&
            moment.text.find("nothing happens") != std::string::npos) {
            near_misses.push_back(moment.at);
        }
    }
    return judge(presses, requests, near_misses);
}

void print(const char* who, const Misjudged& wrong, std::uint64_t wakes) {
    std::printf("%-22s %10zu %14zu %14zu %12zu %14llu\n",
                who,
                wrong.all(),
                wrong.asked_too_short,
                wrong.held_in_vain,
                wrong.taken_for_several,
                static_cast<unsigned long long>(wakes));
}

/// Over a week: a year of polls takes its time.
void compare() {
    const Year presses = year_of_presses(week, hold, seed);
    const rehearsal::Rehearsal rehearsal = rehearsal::rehearse({settings(), presses.script, false});
    const Polled polled = poll(presses.script, frame, hold);
    std::printf("%zu presses of a week, each near miss or request judged by how long it was held\n"
                "%-22s %10s %14s %14s %12s %14s\n",
                presses.presses.size(),
                "",
                "misjudged",
                "asked too soon",
                "held in vain",
                "seen twice",
                "wake-ups");
    print("Nightlatch", judge(presses.presses, rehearsal), rehearsal.turns);
    print("a loop at 60 Hz",
          judge(presses.presses, polled.requests, polled.near_misses),
          polled.polls);
    std::printf("\n");
}

struct ManualClock final : ports::Clock {
    Instant time{10s};

    [[nodiscard]] Instant now() const override { return time; }

    [[nodiscard]] Duration suspended() const override { return 0s; }
};

/// The wiring in the service's place: whoever follows it takes no memory of ours.
struct Nobody final : rehearsal::RunFollower {
    void happened(const supervisor::Event& /*event*/) override {}

    void step(Instant /*at*/, const rehearsal::ScriptStep& /*step*/) override {}

    void login_tells(Instant /*at*/, const std::string& /*text*/) override {}
};

struct Cost {
    std::size_t edges = 0;
    std::size_t allocations = 0;
};

/// A hundred presses with that bounce, as they cost once the service runs.
Cost cost_of(const rehearsal::Bounce& bounce) {
    rehearsal::PressScript script;
    for (int i = 0; i < 100; ++i) {
        rehearsal::add_edge(script.events, 10s * (i + 1), Level::active, bounce);
        rehearsal::add_edge(script.events, 10s * (i + 1) + 1s, Level::inactive, bounce);
    }
    Cost cost{edges_in(script), 0};
    ManualClock clock;
    Nobody nobody;
    rehearsal::ScriptedPostHalt post_halt(core::Verdict::configured);
    rehearsal::SimulatedRun run(std::make_shared<const config::Settings>(settings()),
                                std::move(script),
                                {clock, post_halt, nobody, {}});
    run.start();
    const std::size_t before = test::allocations();
    while (!run.played()) {
        clock.time = std::max(clock.time, run.next_due());
        run.turn();
    }
    cost.allocations = test::allocations() - before;
    return cost;
}

/// What an edge allocates: the difference between much bounce and none, over the edges more.
double allocations_an_edge() {
    const Cost few = cost_of({});
    const Cost many = cost_of(rehearsal::Bounce(40, 1ms));
    return (static_cast<double>(many.allocations) - static_cast<double>(few.allocations)) /
           static_cast<double>(many.edges - few.edges);
}

void rehearse_a_year(benchmark::State& state) {
    const Year presses = year_of_presses(year, hold, seed);
    const auto edges = static_cast<double>(edges_in(presses.script));
    std::size_t asked = 0;
    for (auto _ : state) {
        const rehearsal::Rehearsal rehearsal =
            rehearsal::rehearse({settings(), presses.script, false});
        asked = rehearsal.asked.size();
    }
    state.counters["presses"] = static_cast<double>(presses.presses.size());
    state.counters["requests"] = static_cast<double>(asked);
    state.counters["edges"] =
        benchmark::Counter(edges, benchmark::Counter::kIsIterationInvariantRate);
    state.counters["allocations_an_edge"] = allocations_an_edge();
}

void rehearse_a_week(benchmark::State& state) {
    const Year presses = year_of_presses(week, hold, seed);
    for (auto _ : state) {
        benchmark::DoNotOptimize(rehearsal::rehearse({settings(), presses.script, false}));
    }
}

void poll_a_week(benchmark::State& state) {
    const Year presses = year_of_presses(week, hold, seed);
    for (auto _ : state) {
        benchmark::DoNotOptimize(poll(presses.script, frame, hold));
    }
}

}  // namespace

BENCHMARK(rehearse_a_year)->Unit(benchmark::kMillisecond);
BENCHMARK(rehearse_a_week)->Unit(benchmark::kMillisecond);
BENCHMARK(poll_a_week)->Unit(benchmark::kMillisecond);

int main(int argc, char** argv) {
    compare();
    benchmark::Initialize(&argc, argv);
    benchmark::RunSpecifiedBenchmarks();
    benchmark::Shutdown();
    return 0;
}
