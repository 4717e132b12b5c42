// SPDX-License-Identifier: MIT
#include "bounce/advice.hpp"
#include "bounce/measure.hpp"

#include <algorithm>
#include <string>
#include <vector>

#include <catch2/catch_test_macros.hpp>
#include <catch2/generators/catch_generators.hpp>
#include <catch2/generators/catch_generators_range.hpp>

using namespace nightlatch;
using namespace nightlatch::bounce;
using namespace nightlatch::core;
using namespace std::chrono_literals;

namespace {

constexpr Instant start{1000s};
constexpr Duration quiet = 200ms;

/// Edges, each so long after the start and to the other level; the first is to the pressed one.
using Edges = std::vector<Duration>;

BounceReport measured(const Edges& edges) {
    BounceMeasure measure(start, Level::inactive, quiet);
    Level level = Level::inactive;
    for (const Duration after : edges) {
        level = !level;
        measure.sample({start + after, level});
    }
    measure.advance(start + 1h);
    return measure.report();
}

/// An edge at `at` that bounces in equal steps of `pause` for `length`.
void chatter(Edges& edges, Duration at, Duration length, Duration pause) {
    edges.push_back(at);
    // Pairs, so that it ends where it was going.
    for (Duration after = 2 * pause; after <= length; after += 2 * pause) {
        edges.push_back(at + after - pause);
        edges.push_back(at + after);
    }
}

BounceTrial tried(const Edges& edges, const Intervals& intervals) {
    BounceTrial trial(intervals, start, Level::inactive);
    Level level = Level::inactive;
    for (const Duration after : edges) {
        level = !level;
        trial.sample({start + after, level});
    }
    trial.finish();
    return trial;
}

/// What a debounce settles the edges as, and when a press begins and ends by it.
struct Taken {
    std::vector<core::SettleKind> kinds;
    std::vector<Duration> edges;
};

Taken taken(const Edges& edges, const Intervals& intervals) {
    core::Debounce debounce;
    debounce.set_intervals(intervals.press, intervals.release);
    debounce.reset(start - 1s, Level::inactive);
    debounce.expire();
    Taken result;
    const auto until = [&](Instant now) {
        while (debounce.deadline() <= now) {
            const core::Settled settled = debounce.expire();
            result.kinds.push_back(settled.kind);
            result.edges.push_back(settled.edge - start);
        }
    };
    Level level = Level::inactive;
    for (const Duration after : edges) {
        until(start + after);
        level = !level;
        debounce.sample({start + after, level});
    }
    until(start + 1h);
    return result;
}

}  // namespace

TEST_CASE("a clean press and release are one edge each, without length or pause", "[bounce]") {
    const BounceReport report = measured({1s, 2s});
    CHECK(report.press.times == 1);
    CHECK(report.press.clean == 1);
    CHECK(report.press.edges == 1);
    CHECK(report.press.longest == 0s);
    CHECK(report.press.longest_pause() == 0s);
    CHECK(report.press.buckets[0] == 1);
    CHECK(report.release.times == 1);
    CHECK(report.back.times == 0);
    CHECK(report.whole() == 1);
    CHECK_FALSE(report.cut_short);
}

TEST_CASE("a bounce is as long as from its first edge to its last, its pauses told by level",
          "[bounce]") {
    // Closed for 1 ms, open for 3 ms, closed for 2 ms, open for 500 us, closed for good.
    const BounceReport report =
        measured({1s, 1s + 1ms, 1s + 4ms, 1s + 6ms, 1s + 6500us, 2s, 2s + 700us, 2s + 800us});
    CHECK(report.press.times == 1);
    CHECK(report.press.clean == 0);
    CHECK(report.press.most_edges == 5);
    CHECK(report.press.longest == 6500us);
    CHECK(report.press.longest_closed == 2ms);
    CHECK(report.press.longest_open == 3ms);
    CHECK(report.release.most_edges == 3);
    CHECK(report.release.longest_open == 700us);
    CHECK(report.release.longest_closed == 100us);
    CHECK(report.release.mean() == 800us);
}

TEST_CASE("an episode is over when the level has been quiet for the whole quiet time", "[bounce]") {
    BounceMeasure measure(start, Level::inactive, quiet);
    CHECK(measure.deadline() == never);
    CHECK_FALSE(measure.under_way());
    measure.sample({start + 1s, Level::active});
    CHECK(measure.under_way() == start + 1s);
    CHECK(measure.deadline() == start + 1s + quiet);
    CHECK_FALSE(measure.advance(start + 1s + quiet - 1ns));
    const auto over = measure.advance(start + 1s + quiet);
    REQUIRE(over);
    CHECK(*over == BounceEpisode{start + 1s, start + 1s, Level::inactive, Level::active, 1});
    CHECK(measure.deadline() == never);
    CHECK(measured({1s, 1s + quiet}).release.times == 1);
    CHECK(measured({1s, 1s + quiet - 1ns}).release.times == 0);
}

TEST_CASE("the edge after a quiet time hands out the episode before it", "[bounce]") {
    BounceMeasure measure(start, Level::inactive, quiet);
    CHECK_FALSE(measure.sample({start + 1s, Level::active}));
    const auto over = measure.sample({start + 2s, Level::inactive});
    REQUIRE(over);
    CHECK(over->to == Level::active);
    CHECK(measure.under_way() == start + 2s);
}

TEST_CASE("a tap within the quiet time is neither a press nor a release", "[bounce]") {
    const BounceReport report = measured({1s, 1s + 150ms, 3s, 4s});
    CHECK(report.back.times == 1);
    CHECK(report.back.longest == 150ms);
    CHECK(report.press.times == 1);
    CHECK(report.release.times == 1);
    CHECK(report.press.longest_pause() == 0s);
}

TEST_CASE("an event of an equal level is two edges that the kernel merged", "[bounce]") {
    BounceMeasure measure(start, Level::inactive, quiet);
    measure.sample({start + 1s, Level::active});
    measure.sample({start + 1s + 5ms, Level::active});
    measure.advance(start + 2s);
    CHECK(measure.report().merged == 1);
    CHECK(measure.report().press.most_edges == 3);
    CHECK(measure.report().press.longest_closed == 5ms);
}

TEST_CASE("a stamp older than the one before it makes no negative pause", "[bounce]") {
    BounceMeasure measure(start, Level::inactive, quiet);
    measure.sample({start + 1s, Level::active});
    measure.sample({start + 900ms, Level::inactive});
    measure.sample({start + 1s + 1ms, Level::active});
    measure.advance(start + 2s);
    CHECK(measure.report().press.longest == 1ms);
    CHECK(measure.report().press.longest_open == 1ms);
    CHECK(measure.report().press.longest_closed == 0s);
}

TEST_CASE("a recording that ends soon after an edge counts it, and says how soon", "[bounce]") {
    BounceMeasure measure(start, Level::inactive, quiet);
    measure.sample({start + 1s, Level::active});
    measure.finish(start + 1s + 12ms);
    CHECK(measure.report().press.times == 1);
    CHECK(measure.report().cut_short == 12ms);

    BounceMeasure whole(start, Level::inactive, quiet);
    whole.sample({start + 1s, Level::active});
    whole.finish(start + 1s + quiet);
    CHECK(whole.report().press.times == 1);
    CHECK_FALSE(whole.report().cut_short);
    whole.finish(start + 3s);
    CHECK(whole.report().press.times == 1);
}

TEST_CASE("an episode that a level contradicts is not counted", "[bounce]") {
    BounceMeasure measure(start, Level::inactive, quiet);
    measure.sample({start + 1s, Level::active});
    measure.resync(start + 2s, Level::inactive);
    CHECK(measure.deadline() == never);
    CHECK(measure.raw() == Level::inactive);
    CHECK_FALSE(measure.advance(start + 3s));
    CHECK(measure.report().press.times == 0);
    CHECK(measure.report().lost == 1);
}

TEST_CASE("each length falls into the first bucket whose bound it does not exceed", "[bounce]") {
    const auto bucket = GENERATE(range(std::size_t{0}, BounceTally::bounds.size()));
    const Duration bound = BounceTally::bounds[bucket];
    // Two pauses and so short that the episode ends only after the last edge.
    const Duration step = bound / 4;
    CHECK(measured({1s, 1s + step, 1s + bound}).press.buckets[bucket + 1] == 1);
    CHECK(measured({1s, 1s + step, 1s + bound + 1ns}).press.buckets[bucket + 2] == 1);
}

TEST_CASE("a floating line is told by more than 2,000 edges a second for two seconds", "[bounce]") {
    Edges edges;
    chatter(edges, 1s, 4s, 400us);
    CHECK(measured(edges).storm);
    CHECK(judge(measured(edges), 1, std::nullopt) == BounceOutcome::floats);
    CHECK_FALSE(advise(measured(edges)));
    Edges slower;
    chatter(slower, 1s, 4s, 600us);
    CHECK_FALSE(measured(slower).storm);
    // No storm, but nothing that a debounce could wait out.
    CHECK(judge(measured(slower), 1, std::nullopt) == BounceOutcome::never_rests);
}

TEST_CASE("the advice is the longest pause twice, at least 5 ms, as people write it", "[bounce]") {
    const auto advice_for = [](Duration pause) {
        return advise(measured({1s, 1s + pause, 1s + 2 * pause, 3s}));
    };
    CHECK(*advise(measured({1s, 2s})) == Intervals{5ms, 5ms});
    CHECK(*advice_for(2500us) == Intervals{5ms, 5ms});
    CHECK(*advice_for(2501us) == Intervals{10ms, 10ms});
    CHECK(*advice_for(7ms) == Intervals{15ms, 15ms});
    CHECK(*advice_for(150ms) == Intervals{300ms, 300ms});
    CHECK_FALSE(advise(measured({})));
}

TEST_CASE("a pause counts for the interval that it would make settle too early", "[bounce]") {
    // While letting go: open for 20 ms, closed for 8 ms. Pressing: closed 3 ms, open 1 ms.
    const BounceReport report = measured({1s, 1s + 3ms, 1s + 4ms, 2s, 2s + 20ms, 2s + 28ms});
    CHECK(pauses_by_level(report) == Intervals{8ms, 20ms});
    CHECK(serves({9ms, 21ms}, report));
    CHECK_FALSE(serves({8ms, 21ms}, report));
    CHECK_FALSE(serves({9ms, 20ms}, report));
}

TEST_CASE("the advice leaves room for pauses at the other level", "[bounce]") {
    // Pressing: closed for 1 ms, open for 7 ms. Letting go: open for 1 ms, closed for 20 ms.
    const BounceReport report = measured({1s, 1s + 1ms, 1s + 8ms, 2s, 2s + 1ms, 2s + 21ms});
    CHECK(pauses_by_level(report) == Intervals{20ms, 7ms});
    CHECK(pauses_to_outlast(report) == Intervals{20ms, 20ms});
    CHECK(*advise(report) == Intervals{40ms, 40ms});
}

TEST_CASE("exactly with intervals that serve the core takes each press once and at its own edges",
          "[bounce]") {
    const Edges edges{1s, 1s + 3ms, 1s + 4ms, 1s + 6ms, 1s + 11ms, 3s, 3s + 20ms, 3s + 28ms};
    const BounceReport report = measured(edges);
    const Duration press = GENERATE(1ms, 2ms, 3ms, 5ms, 6ms, 8ms, 9ms, 30ms);
    const Duration release = GENERATE(1ms, 5ms, 6ms, 19ms, 20ms, 21ms, 40ms);
    const Taken result = taken(edges, {press, release});
    const bool right =
        result.kinds == std::vector{core::SettleKind::pressed, core::SettleKind::released} &&
        result.edges == std::vector<Duration>{1s + 11ms, 3s};
    CAPTURE(press, release);
    CHECK(serves({press, release}, report) == right);
    CHECK(tried(edges, {press, release}).presses() ==
          static_cast<std::size_t>(
              std::count_if(result.kinds.begin(), result.kinds.end(), [](core::SettleKind kind) {
                  return kind == core::SettleKind::pressed ||
                         kind == core::SettleKind::pressed_again;
              })));
}

namespace {

struct Published {
    std::string name;  ///< with its source
    Duration press;
    Duration release;
};

/// Only lengths are published, not pauses; a bounce of one pause is the hardest of its length, and
/// one of many pauses the usual one.
std::vector<Published> published() {
    return {
        {"good switches, average [Ganssle, A Guide to Debouncing]", 1557us, 1557us},
        {"good switches, worst [Ganssle, A Guide to Debouncing]", 6200us, 6200us},
        {"a red push-button [Ganssle, A Guide to Debouncing]", 20us, 157ms},
        {"B3FS tactile switch [Omron data sheet: at most 5 ms]", 5ms, 5ms},
        {"B3B tactile switch [Omron data sheet: at most 10 ms]", 10ms, 10ms},
        {"the longest of an application note [Pico Technology: up to 50 ms]", 50ms, 50ms},
        {"a morse key [pe1hvh/measure_bouncing, README.md: stable after 2188 us]", 2188us, 2188us},
    };
}

/// An edge at `at` that bounces for `length` in so many pauses; of two, the first is nearly the
/// whole. Gives its last edge.
Duration bounce_in(Edges& edges, Duration at, Duration length, int pauses) {
    const Duration first = pauses == 2 ? length - 1us : length / pauses;
    const Duration second = pauses == 2 ? 1us : first;
    edges.push_back(at);
    for (int i = 0; i < pauses / 2; ++i) {
        edges.push_back(at + first);
        at += first + second;
        edges.push_back(at);
    }
    return at;
}

}  // namespace

TEST_CASE("what is advised takes each published button's press once, neither early nor late",
          "[bounce][published]") {
    const Published button = GENERATE(from_range(published()));
    const int pauses = GENERATE(2, 4, 10);
    INFO(button.name << ", in " << pauses << " pauses");
    Edges edges;
    const Duration begin = bounce_in(edges, 1s, button.press, pauses);
    bounce_in(edges, 3s, button.release, pauses);
    const BounceReport report = measured(edges);
    REQUIRE(report.whole() == 1);
    const auto advice = advise(report);
    REQUIRE(advice);
    CHECK(advice->press > report.press.longest_pause());
    CHECK(advice->release > report.release.longest_pause());
    const Taken result = taken(edges, *advice);
    CHECK(result.kinds == std::vector{core::SettleKind::pressed, core::SettleKind::released});
    CHECK(result.edges == std::vector<Duration>{begin, 3s});
    CHECK(tried(edges, *advice).presses() == 1);
    CHECK(tried(edges, *advice).glitches() == 0);
}

TEST_CASE("intervals that are too short show in the trial as the person would meet them",
          "[bounce]") {
    // Letting go, the contact closes once more for 40 ms after 60 ms.
    const Edges edges{1s, 3s, 3s + 60ms, 3s + 100ms};
    CHECK(tried(edges, {30ms, 30ms}).presses() == 2);
    CHECK(tried(edges, {30ms, 30ms}).releases() == 2);
    CHECK(tried(edges, {30ms, 100ms}).presses() == 1);
    CHECK(tried(edges, {30ms, 100ms}).glitches() == 1);  // the release is put off
    CHECK(tried(edges, {60ms, 100ms}).glitches() == 0);
    // Twice more for 40 ms, open for 50 ms before each: the hold is lost.
    const Edges twice{1s, 3s, 3s + 50ms, 3s + 90ms, 3s + 140ms, 3s + 180ms};
    CHECK(tried(twice, {30ms, 100ms}).presses() == 2);
    CHECK(tried(twice, {30ms, 100ms}).glitches() == 1);
    CHECK(tried(twice, {30ms, 160ms}).presses() == 1);
    CHECK(judge(measured(edges), 1, Intervals{30ms, 30ms}) == BounceOutcome::too_short);
    CHECK(judge(measured(edges), 1, Intervals{60ms, 100ms}) == BounceOutcome::fine);
    Edges restless;
    chatter(restless, 1s, 10'500ms, 20ms);
    CHECK(tried(restless, {30ms, 30ms}).voided() == 1);
}

TEST_CASE("too few presses, or none, are said", "[bounce]") {
    CHECK(judge(measured({}), 10, std::nullopt) == BounceOutcome::no_press);
    CHECK(judge(measured({1s, 2s}), 10, std::nullopt) == BounceOutcome::few);
    CHECK(judge(measured({1s, 2s}), 1, std::nullopt) == BounceOutcome::fine);
    CHECK(judge(measured({1s, 1s + 10ms}), 1, std::nullopt) == BounceOutcome::no_press);
}

TEST_CASE("what settles in time depends on the intervals", "[bounce]") {
    CHECK(settles_in_time(970ms, {30ms, 30ms}));
    CHECK_FALSE(settles_in_time(970ms + 1ns, {30ms, 30ms}));
    CHECK(settles_in_time(900ms, {300ms, 30ms}));  // four times the longer one
}
