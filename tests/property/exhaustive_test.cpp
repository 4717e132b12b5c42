// SPDX-License-Identifier: MIT
#include "property/sweep.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::core;
using namespace nightlatch::test;
using model::Reply;

namespace {

const Stage announce_at_90{.name = "tell", .hold = 90ms, .action = Action::announce};

void check_agreement(const Swept& swept) {
    INFO(swept.wrong);
    CHECK(swept.wrong.empty());
    CHECK(swept.requests > 0);
}

}  // namespace

TEST_CASE("core and model agree on every line of up to eight edges", "[exhaustive]") {
    const Settings settings = small_settings();
    const Swept swept = run_sweep(
        {.settings = settings, .gaps = critical_gaps(settings), .length = 8}, "equal intervals");
    check_agreement(swept);
    CHECK(swept.near_misses > 0);
    CHECK(swept.stuck > 0);
}

TEST_CASE("core and model agree when samples repeat a level and every request is refused",
          "[exhaustive]") {
    const Settings settings = small_settings();
    check_agreement(run_sweep({.settings = settings,
                               .gaps = critical_gaps(settings),
                               .length = 6,
                               .repeats = true,
                               .reply = Reply::refused},
                              "equal intervals, repeated levels"));
}

TEST_CASE("core and model agree with unequal intervals", "[exhaustive]") {
    Settings settings = small_settings();
    settings.release_interval = 50ms;
    check_agreement(run_sweep({.settings = settings,
                               .gaps = critical_gaps(settings),
                               .length = 6,
                               .reply = Reply::refused},
                              "slower release"));
    check_agreement(run_sweep({.settings = settings,
                               .gaps = {0ms, 29ms, 30ms, 49ms, 50ms, 90ms, 300ms},
                               .length = 6,
                               .repeats = true,
                               .reply = Reply::refused},
                              "slower release, repeated levels"));
    settings.release_interval = 20ms;
    check_agreement(run_sweep({.settings = settings,
                               .gaps = critical_gaps(settings),
                               .length = 6,
                               .reply = Reply::refused},
                              "slower press"));
    check_agreement(run_sweep({.settings = settings,
                               .gaps = {0ms, 19ms, 20ms, 29ms, 30ms, 90ms, 300ms},
                               .length = 6,
                               .repeats = true,
                               .reply = Reply::refused},
                              "slower press, repeated levels"));
}

TEST_CASE("core and model agree with an interval of nothing", "[exhaustive]") {
    Settings settings = small_settings();
    settings.press_interval = 0ms;
    check_agreement(run_sweep({.settings = settings,
                               .gaps = {0ms, 1ms, 29ms, 30ms, 89ms, 90ms, 300ms},
                               .length = 5,
                               .repeats = true,
                               .reply = Reply::refused},
                              "no press interval"));
    settings.release_interval = 0ms;
    check_agreement(run_sweep({.settings = settings,
                               .gaps = {0ms, 1ms, 29ms, 30ms, 89ms, 90ms, 300ms},
                               .length = 5,
                               .repeats = true,
                               .reply = Reply::refused},
                              "no intervals at all"));
}

TEST_CASE("core and model agree on drop-outs that add up to a release", "[exhaustive]") {
    Settings settings = small_settings();
    settings.release_interval = 50ms;
    check_agreement(run_sweep({.settings = settings,
                               .gaps = {20ms, 30ms, 31ms, 60ms},
                               .length = 9,
                               .reply = Reply::refused,
                               .prefix = {100ms}},
                              "drop-outs"));
    check_agreement(run_sweep({.settings = settings,
                               .gaps = {20ms, 29ms, 30ms, 90ms},
                               .length = 7,
                               .repeats = true,
                               .reply = Reply::refused,
                               .prefix = {100ms, 30ms}},
                              "drop-outs, repeated levels"));
    settings.act_on = ActOn::threshold;
    check_agreement(run_sweep({.settings = settings,
                               .gaps = {20ms, 30ms, 45ms, 65ms},
                               .length = 9,
                               .reply = Reply::refused,
                               .prefix = {100ms}},
                              "drop-outs, threshold"));
    settings = small_settings();
    settings.grace = 600ms;
    settings.stuck_after = 1s;  // no press gets stuck before it has called off
    const Swept swept = run_sweep({.settings = settings,
                                   .gaps = {15ms, 30ms, 45ms, 70ms, 500ms},
                                   .length = 8,
                                   .prefix = {50ms, 90ms}},
                                  "drop-outs in a countdown");
    check_agreement(swept);
    CHECK(swept.call_offs > 0);
}

TEST_CASE("core and model agree when acting on the threshold", "[exhaustive]") {
    Settings settings = small_settings();
    settings.act_on = ActOn::threshold;
    for (const Reply reply : {Reply::silence, Reply::refused}) {
        check_agreement(run_sweep({.settings = settings,
                                   .gaps = {0ms, 29ms, 30ms, 31ms, 94ms, 95ms, 300ms},
                                   .length = 6,
                                   .repeats = reply == Reply::refused,
                                   .reply = reply},
                                  "threshold"));
    }
}

TEST_CASE("core and model agree with two stages", "[exhaustive]") {
    Settings settings = small_settings();
    settings.stages.insert(settings.stages.begin(), announce_at_90);
    settings.stages.back().hold = 180ms;
    const std::vector<Duration> gaps{0ms, 29ms, 30ms, 89ms, 90ms, 179ms, 180ms, 300ms};
    check_agreement(run_sweep({.settings = settings, .gaps = gaps, .length = 6}, "two stages"));
    check_agreement(run_sweep(
        {.settings = settings, .gaps = gaps, .length = 5, .repeats = true, .reply = Reply::refused},
        "two stages, repeated levels"));
}

TEST_CASE("core and model agree on countdowns and what calls them off", "[exhaustive]") {
    Settings settings = small_settings();
    // Let go at 140 ms, settled at 170 ms: a press from 640 ms on counts until 770 ms.
    settings.grace = 600ms;
    settings.stuck_after = 1s;
    const std::vector<Duration> gaps{
        0ms, 29ms, 30ms, 70ms, 99ms, 100ms, 130ms, 499ms, 500ms, 600ms};
    for (const bool repeats : {false, true}) {
        const Swept swept = run_sweep({.settings = settings,
                                       .gaps = gaps,
                                       .length = 5,
                                       .repeats = repeats,
                                       .reply = repeats ? Reply::refused : Reply::silence,
                                       .prefix = {50ms, 90ms}},
                                      "countdown");
        check_agreement(swept);
        CHECK(swept.call_offs > 0);
    }
}

namespace {

/// Limits so small that a few samples reach them.
Settings impatient_settings() {
    Settings settings = small_settings();
    settings.limits.unsettled = 120ms;
    settings.limits.changes = 3;
    settings.limits.changes_within = 400ms;
    settings.limits.busy = 200ms;
    settings.limits.busy_pause = 70ms;
    settings.limits.trial = 900ms;
    settings.limits.trial_patience = 60ms;
    settings.limits.trial_changes = 1;
    settings.limits.first_back_off = 100ms;
    settings.limits.longest_back_off = 300ms;
    return settings;
}

}  // namespace

TEST_CASE("core and model agree on lines that cannot be read", "[exhaustive]") {
    Settings settings = impatient_settings();
    for (const bool repeats : {false, true}) {
        const Swept swept = run_sweep({.settings = settings,
                                       .gaps = {0ms, 29ms, 30ms, 69ms, 70ms, 100ms},
                                       .length = repeats ? std::size_t{6} : std::size_t{8},
                                       .repeats = repeats,
                                       .reply = Reply::refused},
                                      "unreadable");
        check_agreement(swept);
        CHECK(swept.unreadable > 0);
    }
    settings.limits.changes = 100;
    settings.limits.trial_changes = 100;
    settings.limits.busy = 10s;
    settings.limits.trial_patience = 20ms;
    settings.press_interval = 5ms;
    const Swept unsettled = run_sweep({.settings = settings,
                                       .gaps = {4ms, 5ms, 29ms, 30ms, 120ms, 1000ms},
                                       .length = 8,
                                       .reply = Reply::refused},
                                      "unsettled");
    check_agreement(unsettled);
    CHECK(unsettled.unreadable > 0);
}

TEST_CASE("core and model agree on lines that cannot be read in a countdown", "[exhaustive]") {
    Settings settings = impatient_settings();
    settings.grace = 300ms;
    settings.stuck_after = 1s;
    const Swept swept = run_sweep({.settings = settings,
                                   .gaps = {0ms, 29ms, 30ms, 65ms, 100ms, 500ms},
                                   .length = 7,
                                   .reply = Reply::refused,
                                   .prefix = {50ms, 90ms}},
                                  "unreadable in a countdown");
    check_agreement(swept);
    CHECK(swept.call_offs > 0);
    CHECK(swept.unreadable > 0);
}

TEST_CASE("core and model agree on reopened lines, their back-off and their trial",
          "[exhaustive]") {
    Settings settings = impatient_settings();
    const Swept swept = run_sweep({.settings = settings,
                                   .gaps = {0ms, 29ms, 30ms, 70ms, 130ms, 900ms},
                                   .length = 6,
                                   .reply = Reply::refused,
                                   .prefix = {50ms, 30ms, 30ms, 30ms, 30ms, 100ms}},
                                  "reopened");
    check_agreement(swept);
    CHECK(swept.unreadable > swept.lines);
}
