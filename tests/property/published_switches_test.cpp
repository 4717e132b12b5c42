// SPDX-License-Identifier: MIT
// The table of nightlatch.toml(5): which published switches a setting of `debounce` survives. Every
// cell is tried with the worst pauses that the published bounce leaves room for.
//
// Sources: Jack Ganssle, "A Guide to Debouncing" (2004); Omron's datasheets of the B3FS and B3B
// tactile switches; Pico Technology's application note on switch bounce; pe1hvh, measure_bouncing
// (README). The intervals: 5 ms is gpio-keys' default [linux
// Documentation/devicetree/bindings/input/gpio-keys.yaml], 10 ms a rule of thumb (common practice).
#include "support/harness.hpp"
#include "support/seeds.hpp"

#include <algorithm>
#include <fstream>
#include <iterator>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::core;
using namespace nightlatch::test;

namespace {

struct Switch {
    std::string_view begin_of_row;
    Duration press;
    Duration release;
};

constexpr std::array switches{
    Switch{"good ones, on average      1.557 ms  1.557 ms", 1557us, 1557us},
    Switch{"good ones, the worst       6.2 ms    6.2 ms", 6200us, 6200us},
    Switch{"red push-button            20 us     157 ms", 20us, 157ms},
    Switch{"tactile switch             5 ms      5 ms", 5ms, 5ms},
    Switch{"larger tactile switch      10 ms     10 ms", 10ms, 10ms},
    Switch{"any, as a supplier warns   50 ms     50 ms", 50ms, 50ms},
    Switch{"morse key                  2.188 ms  2.188 ms", 2188us, 2188us}};

struct Intervals {
    Duration press;
    Duration release;
};

constexpr std::array settings_of_table{
    Intervals{5ms, 5ms}, Intervals{10ms, 10ms}, Intervals{30ms, 30ms}, Intervals{30ms, 160ms}};

constexpr Instant closed{1s};
constexpr Duration meant = 3500ms;

/// One edge at `at`, and bounces: how long each level stays.
using Train = std::vector<Duration>;

void play(Shell& shell, Instant at, Level to, const Train& train) {
    shell.sample(at, to);
    for (const Duration stays : train) {
        at += stays;
        to = !to;
        shell.sample(at, to);
    }
}

/// Two levels for as long as the bounce lasts: at the new one first, then back at the old.
std::vector<Train> worst_trains(Duration bounce, const Intervals& intervals) {
    std::vector<Train> trains;
    for (const Duration first :
         {Duration(1us), intervals.press, intervals.release, bounce / 2, bounce - 1us}) {
        if (first > 0s && first < bounce) {
            trains.push_back({first, bounce - first});
        }
    }
    return trains;
}

/// Many levels, drawn at random, that add up to the bounce.
Train any_train(Dice& dice, Duration bounce) {
    std::vector<Duration> cuts{0s, bounce};
    for (std::uint64_t i = 0; i < 1 + 2 * dice.below(4); ++i) {
        cuts.push_back(Duration(1 + static_cast<std::int64_t>(dice.below(
                                        static_cast<std::uint64_t>(bounce.count() - 1)))));
    }
    std::sort(cuts.begin(), cuts.end());
    Train train;
    for (std::size_t i = 1; i < cuts.size(); ++i) {
        train.push_back(cuts[i] - cuts[i - 1]);
    }
    train.resize(train.size() / 2 * 2);
    return train;
}

struct Seen {
    std::size_t presses = 0;
    std::vector<Left> requests;
};

Seen press_with(const Intervals& intervals, const Train& closing, const Train& opening) {
    Settings settings;
    settings.press_interval = intervals.press;
    settings.release_interval = intervals.release;
    settings.stages = {{"off", 3s, Action::power_off}};
    Shell shell(settings, Instant{}, Level::inactive);
    shell.answers = AnswerKind::refused;  // so that a second request would show
    play(shell, closed, Level::active, closing);
    play(shell, closed + meant, Level::inactive, opening);
    shell.wait(closed + 1min);
    Seen seen{0, requests_of(shell.left())};
    for (const Note& note : shell.notes()) {
        seen.presses += note.why == Why::press_accepted ? 1U : 0U;
    }
    REQUIRE(seen.requests.size() <= 1);
    return seen;
}

bool survives_press(const Intervals& intervals, const Train& train) {
    const Seen seen = press_with(intervals, train, {});
    return seen.presses == 1 && seen.requests.size() == 1;
}

bool survives_release(const Intervals& intervals, const Train& train) {
    Duration bounce{};
    for (const Duration stays : train) {
        bounce += stays;
    }
    const Seen seen = press_with(intervals, {}, train);
    return seen.requests.size() == 1 && seen.requests[0].at >= closed + meant + bounce;
}

/// Of all trains, the worst and some hundred others.
template <class Survives>
bool survives_all(Survives survives, const Intervals& intervals, Duration bounce, Dice& dice) {
    const std::vector<Train> worst = worst_trains(bounce, intervals);
    const bool the_worst = std::all_of(
        worst.begin(), worst.end(), [&](const Train& train) { return survives(intervals, train); });
    for (int i = 0; i < 200 && the_worst; ++i) {
        const Train train = any_train(dice, bounce);
        REQUIRE(survives(intervals, train));  // else the worst trains are not the worst
    }
    return the_worst;
}

std::string_view word(bool press, bool release) {
    if (press && release) {
        return "both";
    }
    return press ? "press" : release ? "release" : "neither";
}

std::string row(const Switch& one, Dice& dice) {
    std::string text(one.begin_of_row);
    for (const Intervals& intervals : settings_of_table) {
        constexpr std::size_t first_column = 47;
        constexpr std::size_t width = 9;
        const auto column =
            first_column + width * static_cast<std::size_t>(&intervals - settings_of_table.data());
        text.resize(column, ' ');
        text += word(survives_all(survives_press, intervals, one.press, dice),
                     survives_all(survives_release, intervals, one.release, dice));
    }
    return text;
}

}  // namespace

TEST_CASE("the manual's table of switches says what each setting survives", "[bounce]") {
    Dice dice(seed_for("the table of switches"));
    std::ifstream file(MANUAL);
    REQUIRE(file.is_open());
    const std::string manual(std::istreambuf_iterator<char>(file), {});
    for (const Switch& one : switches) {
        const std::string expected = row(one, dice);
        INFO(expected);
        CHECK(manual.find("\n" + expected + "\n") != std::string::npos);
    }
}
