// SPDX-License-Identifier: MIT
// Lines that float or are disturbed: spikes that must not void anything, and noise that is told
// once, let go and tried again.
#include "base/duration_text.hpp"
#include "property/sweep.hpp"

#include <algorithm>
#include <array>
#include <iostream>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::core;
using namespace nightlatch::test;

namespace {

struct Intervals {
    Duration press;
    Duration release;
};

constexpr std::array<Intervals, 4> intervals_of_people{
    Intervals{5ms, 5ms}, Intervals{30ms, 30ms}, Intervals{10ms, 30ms}, Intervals{30ms, 160ms}};

/// 50 Hz, 60 Hz, 217 Hz (a radio's frames), 1 kHz.
constexpr std::array<Duration, 4> periods{20ms, 16667us, 4608us, 1ms};

Settings settings_with(const Intervals& intervals, Duration grace = 0s) {
    Settings settings;
    settings.press_interval = intervals.press;
    settings.release_interval = intervals.release;
    settings.stages = {{.name = "off", .hold = 3s, .action = Action::power_off}};
    settings.grace = grace;
    return settings;
}

/// Widths from 1 us to just under `below` and the period.
std::vector<Duration> widths(Duration below, Duration period) {
    const Duration most = std::min(below, period) - 1us;
    return {1us, 100us, most / 7, most / 2, most};
}

/// The line reads `spike` for `width` once a period, from now until `until`; else the other level.
// NOLINTNEXTLINE(readability-function-size)
void spikes(
    Shell& shell, Instant& now, Instant until, Duration period, Duration width, Level spike) {
    for (; now + width < until; now += period) {
        shell.sample(now, spike);
        shell.sample(now + width, !spike);
    }
    now = std::max(now, until);
}

std::size_t count_of(const Shell& shell, Why why) {
    const auto& notes = shell.notes();
    return static_cast<std::size_t>(
        std::count_if(notes.begin(), notes.end(), [&](const Note& n) { return n.why == why; }));
}

std::size_t closings(const Shell& shell) {
    const auto& left = shell.left();
    return static_cast<std::size_t>(std::count_if(left.begin(), left.end(), [](const Left& each) {
        return std::holds_alternative<CloseLine>(each.action);
    }));
}

template <class Visit>
void for_each_train(const Visit& visit, bool away_from_pressed) {
    std::size_t trains = 0;
    for (const Intervals& intervals : intervals_of_people) {
        for (const Duration period : periods) {
            const Duration below = away_from_pressed ? intervals.release : intervals.press;
            for (const Duration width : widths(below, period)) {
                INFO("debounce " << to_text(intervals.press) << "/" << to_text(intervals.release)
                                 << ", " << to_text(width) << " each " << to_text(period));
                visit(intervals, period, width);
                ++trains;
            }
        }
    }
    CHECK(trains == intervals_of_people.size() * periods.size() * 5);
}

}  // namespace

// --- less than ten seconds, with the interval in which they settle

TEST_CASE("spikes on a released line never make a press", "[spikes]") {
    for_each_train(
        [](const Intervals& intervals, Duration period, Duration width) {
            Shell shell(settings_with(intervals), line_start, Level::inactive);
            Instant now = line_start + 1s;
            spikes(shell, now, now + 9800ms, period, width, Level::active);
            shell.wait(now + 10s);
            CHECK(requests_of(shell.left()).empty());
            CHECK(count_of(shell, Why::press_accepted) == 0);
            CHECK(closings(shell) == 0);
            CHECK(shell.core().state() == State::rest);
        },
        false);
}

TEST_CASE("drop-outs shorter than the release interval in all delay a stage and void nothing",
          "[spikes]") {
    std::size_t holds = 0;
    for_each_train(
        [&](const Intervals& intervals, Duration period, Duration width) {
            // As many as are too short in all; the hold goes on until they have settled.
            const auto most = (intervals.release - 1ns) / width;
            const Duration burst = std::min<Duration>(period * most, 9s);
            if (most < 1) {
                return;
            }
            Shell shell(settings_with(intervals), line_start, Level::inactive);
            const Instant begin = line_start + 1s;
            shell.sample(begin, Level::active);
            Instant now = begin + 1s;
            for (std::int64_t i = 0; i < burst / period; ++i, now += period) {
                shell.sample(now, Level::inactive);
                shell.sample(now + width, Level::active);
            }
            const Instant end = std::max(begin + 3s, now + intervals.press + 1ms);
            shell.sample(end, Level::inactive);
            shell.wait(end + 10s);
            INFO(text_of(shell.notes()));
            REQUIRE(asks_in(shell.left()) == 1);
            const std::vector<Left> requests = requests_of(shell.left());
            CHECK(requests.back().at == end + intervals.release);
            CHECK(std::get<Ask>(requests.back().action).held == end - begin);
            CHECK(closings(shell) == 0);
            ++holds;
        },
        true);
    CHECK(holds > 50);
}

TEST_CASE("spikes that last until the release end the hold at the first of them", "[spikes]") {
    for (const Duration first : {2999ms, 3000ms}) {
        Shell shell(settings_with({30ms, 160ms}), line_start, Level::inactive);
        const Instant begin = line_start + 1s;
        shell.sample(begin, Level::active);
        Instant now = begin + first;
        spikes(shell, now, now + 2s, 20ms, 100us, Level::inactive);
        shell.sample(now, Level::inactive);
        shell.wait(now + 1s);
        CHECK(asks_in(shell.left()) == (first < 3s ? 0 : 1));
    }
}

TEST_CASE("spikes of less than ten seconds on a released line never call a countdown off",
          "[spikes]") {
    for_each_train(
        [](const Intervals& intervals, Duration period, Duration width) {
            for (const Duration lasting : {1000ms, 9800ms}) {
                Shell shell(settings_with(intervals, 2s), line_start, Level::inactive);
                Instant now = line_start + 1s;
                shell.sample(now, Level::active);
                now += 4s;
                shell.sample(now, Level::inactive);
                now += 500ms;
                spikes(shell, now, now + lasting, period, width, Level::active);
                shell.wait(now + 10s);
                CHECK(asks_in(shell.left()) == 1);
                CHECK(count_of(shell, Why::called_off) == 0);
                // Not before its time, nor inside what may still become a press.
                const Left request = requests_of(shell.left()).front();
                CHECK(request.at >= line_start + 5s + 2s + intervals.release);
            }
        },
        false);
}

TEST_CASE("two taps with spikes between them, and a tap into a motor's burst, are no hold",
          "[spikes]") {
    Shell two(settings_with({30ms, 30ms}), line_start, Level::inactive);
    Instant now = line_start + 1s;
    two.sample(now, Level::active);
    now += 150ms;
    two.sample(now, Level::inactive);
    now += 20ms;
    spikes(two, now, now + 4s, 20ms, 100us, Level::active);
    two.sample(now, Level::active);
    now += 150ms;
    two.sample(now, Level::inactive);
    two.wait(now + 10s);
    CHECK(asks_in(two.left()) == 0);

    Shell motor(settings_with({30ms, 30ms}), line_start, Level::inactive);
    now = line_start + 1s;
    motor.sample(now, Level::active);
    now += 150ms;
    motor.sample(now, Level::inactive);
    now += 10ms;
    spikes(motor, now, now + 4s, 20ms, 10ms, Level::active);
    motor.sample(now, Level::active);
    now += 40ms;
    motor.sample(now, Level::inactive);
    motor.wait(now + 10s);
    CHECK(asks_in(motor.left()) == 0);
}

// --- ten seconds and more

namespace {

/// What an hour of edges does that never stop.
struct Hour {
    std::size_t told = 0;
    std::size_t still = 0;
    std::uint64_t fed = 0;  ///< edges that came while the line was open
    std::uint64_t wakes = 0;
    std::size_t asks = 0;
    std::size_t openings = 0;
    State state = State::rest;
};

Hour hour_of(const Settings& settings, Duration high, Duration low, Duration lasting = 1h) {
    Shell shell(settings, line_start, Level::inactive);
    shell.opens = true;
    Instant now = line_start + 1s;
    const Instant end = now + lasting;
    Hour hour;
    bool open = true;
    std::size_t looked = 0;
    for (Level level = Level::active; now < end; level = !level) {
        while (shell.core().next_deadline() <= now) {
            shell.wake(shell.core().next_deadline());
            ++hour.wakes;
        }
        shell.sample(now, level);
        for (; looked < shell.left().size(); ++looked) {
            const ActionOut& action = shell.left()[looked].action;
            const bool opened = std::holds_alternative<OpenLine>(action);
            open = (open && !std::holds_alternative<CloseLine>(action)) || opened;
            hour.openings += opened ? 1 : 0;
        }
        hour.fed += open ? 1 : 0;
        now += level == Level::active ? high : low;
    }
    hour.told = count_of(shell, Why::line_unreadable);
    hour.still = count_of(shell, Why::line_unreadable_still);
    hour.asks = asks_in(shell.left());
    hour.state = shell.core().state();
    return hour;
}

}  // namespace

TEST_CASE("edges that never stop are told once, are a fault, and cost a sixtieth of themselves",
          "[noise]") {
    for (const auto& [high, low] : {std::pair<Duration, Duration>{10ms, 10ms},
                                    std::pair<Duration, Duration>{8333us, 8333us},
                                    std::pair<Duration, Duration>{1ms, 19ms},
                                    std::pair<Duration, Duration>{19ms, 1ms},
                                    std::pair<Duration, Duration>{1us, 4607us},
                                    std::pair<Duration, Duration>{60ms, 60ms},
                                    std::pair<Duration, Duration>{99ms, 99ms}}) {
        for (const Intervals& intervals : intervals_of_people) {
            const Hour hour = hour_of(settings_with(intervals), high, low);
            const auto edges = static_cast<std::uint64_t>(2 * (1h / (high + low)));
            INFO(to_text(high) << " and " << to_text(low) << ", debounce "
                               << to_text(intervals.press) << "/" << to_text(intervals.release));
            CHECK(hour.told == 1);
            CHECK(hour.still == hour.openings - (hour.state == State::fault ? 0 : 1));
            CHECK(hour.asks == 0);
            CHECK(hour.openings >= 55);  // it is tried again for ever
            CHECK(hour.openings <= 70);
            // The first ten seconds, the first openings, then one second in each 61.
            CHECK(hour.fed <= edges / 360 + edges / 50);
            CHECK(hour.wakes <= hour.fed + 4 * hour.openings + 10);
        }
    }
}

TEST_CASE("with intervals of a second what never stops costs a sixteenth", "[noise]") {
    const Hour hour = hour_of(settings_with({1s, 1s}), 50ms, 50ms);
    CHECK(hour.told == 1);
    // The first ten seconds and openings, then four seconds in each 64.
    CHECK(hour.fed <= std::size_t{20} * (10 + 6 * 4 + 3600 / 16));
    CHECK(hour.openings > 40);
}

TEST_CASE("hum is noticed after ten seconds and not before", "[noise]") {
    for (const Duration half : {10000us, 8333us, 2304us}) {
        CHECK(hour_of(settings_with({30ms, 160ms}), half, half, 9900ms).told == 0);
        CHECK(hour_of(settings_with({30ms, 160ms}), half, half, 10100ms).told == 1);
    }
}

TEST_CASE("a line that settles now and then and is never quiet cannot be read", "[noise]") {
    CHECK(hour_of(settings_with({5ms, 5ms}), 10ms, 10ms, 10100ms).told == 1);  // settles each time
    CHECK(hour_of(settings_with({5ms, 5ms}), 45ms, 54ms, 10100ms).told == 1);
}

TEST_CASE("a pause of 100 ms every ten seconds makes a busy line one that can be read", "[noise]") {
    for (const Duration pause : {99ms, 100ms}) {
        Shell shell(settings_with({5ms, 5ms}), line_start, Level::inactive);
        shell.opens = true;
        Instant now = line_start + 1s;
        for (int i = 0; i < 6; ++i) {  // glitches: the settled level does not change
            const Instant until = now + 9s;
            for (; now < until; now += 50ms) {
                shell.sample(now, Level::active);
                shell.sample(now + 1ms, Level::inactive);
            }
            now += pause - 50ms + 1ms;
        }
        CHECK(count_of(shell, Why::line_unreadable) == (pause < 100ms ? 1 : 0));
    }
}

TEST_CASE("a hundred and one changes of the settled level within ten seconds are too many",
          "[noise]") {
    const auto found = [](int changes, Duration apart) {
        Shell shell(settings_with({5ms, 5ms}), line_start, Level::inactive);
        shell.opens = true;
        Instant now = line_start + 1s;
        Level level = Level::active;
        for (int i = 0; i < changes; ++i, now += apart, level = !level) {
            shell.sample(now, level);
        }
        shell.wait(now);
        return count_of(shell, Why::line_unreadable) == 1;
    };
    CHECK_FALSE(found(100, 99ms));  // shorter than a pause, but not for ten seconds
    CHECK(found(101, 99ms));
    CHECK_FALSE(found(400, 101ms));
}

TEST_CASE("the line is tried after 1, 2, 4 ... 60 s, and told anew only when readable for 60 s",
          "[noise]") {
    Shell shell(settings_with({30ms, 30ms}), line_start, Level::inactive);
    shell.opens = true;
    Instant now = line_start;
    spikes(shell, now, now + 10min, 20ms, 10ms, Level::active);
    std::vector<Duration> pauses;
    Instant closed = never;
    for (const Left& left : shell.left()) {
        if (std::holds_alternative<CloseLine>(left.action)) {
            closed = left.at;
        } else if (std::holds_alternative<OpenLine>(left.action)) {
            pauses.push_back(left.at - closed);
        }
    }
    REQUIRE(pauses.size() > 8);
    const std::vector<Duration> first(pauses.begin(), pauses.begin() + 8);
    CHECK(first == std::vector<Duration>{1s, 2s, 4s, 8s, 16s, 32s, 60s, 60s});
    CHECK(count_of(shell, Why::line_unreadable) == 1);

    now += 62s + 55s;  // opened again by now, and readable for less than 60 s
    spikes(shell, now, now + 3s, 20ms, 10ms, Level::active);
    CHECK(count_of(shell, Why::line_unreadable) == 1);
    now += 60s + 61s;  // and for more
    spikes(shell, now, now + 11s, 20ms, 10ms, Level::active);
    CHECK(count_of(shell, Why::line_unreadable) == 2);
    const std::size_t before = shell.left().size();
    const Instant told = shell.left().back().at;
    shell.wait(told + 1s);
    REQUIRE(shell.left().size() > before);
    CHECK(shell.left()[before].at == told + 1s);
}

TEST_CASE("a line that can be read for good is told once, when it has been for 60 s", "[noise]") {
    for (const Intervals& intervals : intervals_of_people) {
        Shell shell(settings_with(intervals), line_start, Level::inactive);
        shell.opens = true;
        Instant now = line_start + 1s;
        spikes(shell, now, now + 1min, 10ms, 5ms, Level::active);
        shell.sample(now, Level::inactive);
        const Instant quiet = now;
        now += 62s + 50s;
        CHECK(count_of(shell, Why::line_readable) == 0);
        spikes(shell, now, now + 100ms, 20ms, 1ms, Level::active);  // which can be read
        shell.wait(now + 1h);
        REQUIRE(count_of(shell, Why::line_readable) == 1);
        const auto& notes = shell.notes();
        const auto of = [&notes](Why why) {
            return *std::find_if(
                notes.begin(), notes.end(), [why](const Note& n) { return n.why == why; });
        };
        const Note readable = of(Why::line_readable);
        CHECK(readable.at >= quiet + 60s);
        CHECK(readable.at <= quiet + 62s + 60s);
        CHECK(readable.length == readable.at - 60s - of(Why::line_unreadable).at);
        CHECK(shell.core().next_deadline() == never);
    }
}

TEST_CASE("found unreadable at the very moment that its trial ends, the line is told of anew",
          "[noise]") {
    Settings settings = settings_with({1ms, 1ms});
    settings.limits.trial = 700ms;
    settings.limits.changes = 3;  // fewer than on trial: so only the trial's end finds it
    Shell shell(settings, line_start, Level::inactive);
    shell.opens = true;
    shell.wait(line_start + 1s);
    Level level = Level::inactive;
    const auto change = [&](Instant at) {
        level = !level;
        shell.sample(at, level);
        shell.wait(at + 1ms);
    };
    for (int i = 1; i <= 4; ++i) {
        change(line_start + 1s + i * 10ms);
    }
    REQUIRE(count_of(shell, Why::line_unreadable) == 1);
    shell.wait(line_start + 2200ms);
    REQUIRE(std::holds_alternative<OpenLine>(shell.left().back().action));
    const Instant tried = shell.left().back().at;
    for (int i = 6; i >= 0; --i) {
        change(tried + 699ms - i * 10ms);
    }
    CHECK(count_of(shell, Why::line_readable) == 1);
    CHECK(count_of(shell, Why::line_unreadable) == 2);
    CHECK(count_of(shell, Why::line_unreadable_still) == 0);
}

TEST_CASE("a minute of hum, then quiet: rest again within 62 s, and a press works", "[noise]") {
    for (const Intervals& intervals : intervals_of_people) {
        Shell shell(settings_with(intervals), line_start, Level::inactive);
        shell.opens = true;
        Instant now = line_start + 1s;
        spikes(shell, now, now + 1min, 10ms, 5ms, Level::active);
        shell.sample(now, Level::inactive);
        shell.wait(now + 62s);
        CHECK(shell.core().state() == State::rest);
        now += 62s;
        shell.sample(now, Level::active);
        shell.sample(now + 3s, Level::inactive);
        shell.wait(now + 4s);
        CHECK(asks_in(shell.left()) == 1);
    }
}

TEST_CASE("noise voids a hold, a countdown and an unsent request of a press, and no other",
          "[noise]") {
    const auto hum = [](Shell& shell, Instant now) {
        spikes(shell, now, now + 11s, 20ms, 10ms, Level::active);
    };
    Shell holding(settings_with({30ms, 30ms}), line_start, Level::inactive);
    holding.sample(line_start + 1s, Level::active);
    hum(holding, line_start + 2s);
    CHECK(holding.core().state() == State::fault);
    holding.wait(line_start + 1min);
    CHECK(asks_in(holding.left()) == 0);

    Shell counting(settings_with({30ms, 30ms}, 30s), line_start, Level::inactive);
    counting.sample(line_start + 1s, Level::active);
    counting.sample(line_start + 5s, Level::inactive);
    hum(counting, line_start + 6s);
    CHECK(counting.core().state() == State::fault);
    counting.wait(line_start + 2min);
    CHECK(asks_in(counting.left()) == 0);

    for (const bool sent : {true, false}) {
        Shell asked(settings_with({30ms, 30ms}), line_start, Level::inactive);
        asked.sends = sent;
        asked.sample(line_start + 1s, Level::active);
        asked.sample(line_start + 5s, Level::inactive);
        hum(asked, line_start + 6s);
        CHECK(asked.core().state() == (sent ? State::asked : State::fault));
    }
}

TEST_CASE("a line that has never settled is noticed, too", "[noise]") {
    for (const Level first : {Level::inactive, Level::active}) {
        Shell shell(settings_with({30ms, 30ms}), line_start, first);
        shell.opens = true;
        Instant now = line_start + 5ms;
        spikes(shell, now, now + 9900ms, 20ms, 10ms, !first);
        CHECK(count_of(shell, Why::line_unreadable) == 0);
        spikes(shell, now, now + 200ms, 20ms, 10ms, !first);
        CHECK(count_of(shell, Why::line_unreadable) == 1);
        CHECK(shell.core().state() == State::fault);
    }
}

TEST_CASE(
    "more than 2,000 edges a second are noticed in two or three seconds, 2,000 are not before ten",
    "[noise]") {
    CHECK(hour_of(settings_with({30ms, 30ms}), 200us, 200us, 3100ms).told == 1);
    CHECK(hour_of(settings_with({30ms, 30ms}), 500us, 500us, 9900ms).told == 0);
}

TEST_CASE("the edges of the noise are told with it", "[noise]") {
    Shell shell(settings_with({30ms, 30ms}), line_start, Level::inactive);
    Instant now = line_start + 1s;
    spikes(shell, now, now + 11s, 20ms, 10ms, Level::active);
    const auto& notes = shell.notes();
    const auto told = std::find_if(
        notes.begin(), notes.end(), [](const Note& n) { return n.why == Why::line_unreadable; });
    REQUIRE(told != notes.end());
    CHECK(told->index >= 90);
    CHECK(told->index <= 110);
}
