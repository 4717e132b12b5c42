// SPDX-License-Identifier: MIT
// The debouncing against figures that others have measured.
//
// Source: Jack Ganssle, "A Guide to Debouncing" (2004), ganssle.com/debouncing.htm. Of eighteen
// kinds of switches the sixteen good ones bounced 1.557 ms on average and 6.2 ms at most; the
// worst, a push button, 157 ms when it opened. The trains below have those lengths; how their edges
// lie within is drawn at random.
#include "property/sweep.hpp"
#include "support/seeds.hpp"

#include <algorithm>
#include <iostream>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::core;
using namespace nightlatch::test;

namespace {

constexpr Duration mean_of_good = 1557us;
constexpr Duration most_of_good = 6200us;
constexpr Duration worst_opening = 157ms;

std::vector<Sample> any_train(Dice& dice, Instant at, Level to, Duration length) {
    const std::uint64_t pairs = 1 + dice.below(20);
    std::vector<Instant> stamps{at, at + length};
    for (std::uint64_t i = 0; i + 1 < 2 * pairs; ++i) {
        stamps.push_back(at + Duration(static_cast<std::int64_t>(
                                  dice.below(static_cast<std::uint64_t>(length.count())))));
    }
    std::sort(stamps.begin(), stamps.end());
    std::vector<Sample> samples;
    Level level = to;  // an odd count: the first and the last edge both lead to `to`
    for (const Instant stamp : stamps) {
        samples.push_back({stamp, level});
        level = !level;
    }
    return samples;
}

/// From `at` on, ends as `to` exactly `length` later, with up to 40 edges between. Going back for
/// 30 ms would be no bounce but a press (or a release) by every measure: such trains are drawn
/// again.
std::vector<Sample> train(Dice& dice, Instant at, Level to, Duration length) {
    for (;;) {
        std::vector<Sample> samples = any_train(dice, at, to, length);
        bool bounce = true;
        for (std::size_t i = 1; i + 1 < samples.size(); i += 2) {
            bounce = bounce && samples[i + 1].stamp - samples[i].stamp < 30ms;
        }
        if (bounce) {
            return samples;
        }
    }
}

struct Outcome {
    std::size_t presses = 0;
    std::size_t asks = 0;
    Instant left = never;
    Duration held{};
    Duration true_hold{};  ///< from the last edge of closing to the first of opening
    Instant opened;
};

Outcome press_with(Dice& dice, const Settings& settings, Duration closing, Duration opening) {
    Shell shell(settings, line_start, Level::inactive);
    shell.answers = AnswerKind::refused;  // so that a second request would show
    const Instant closed = line_start + 1s + closing;
    Outcome outcome;
    outcome.true_hold = 3s + Duration(static_cast<std::int64_t>(dice.below(1'000'000'000)));
    outcome.opened = closed + outcome.true_hold;
    for (const Sample& sample : train(dice, line_start + 1s, Level::active, closing)) {
        shell.sample(sample.stamp, sample.level);
    }
    for (const Sample& sample : train(dice, outcome.opened, Level::inactive, opening)) {
        shell.sample(sample.stamp, sample.level);
    }
    shell.wait(outcome.opened + 1min);
    outcome.asks = asks_in(shell.left());
    for (const Left& left : shell.left()) {
        if (const auto* ask = std::get_if<Ask>(&left.action)) {
            outcome.left = left.at;
            outcome.held = ask->held;
        }
    }
    outcome.presses = static_cast<std::size_t>(
        std::count_if(shell.notes().begin(), shell.notes().end(), [](const Note& note) {
            return note.why == Why::press_accepted;
        }));
    return outcome;
}

Settings with_release(Duration release) {
    Settings settings;  // the intervals' defaults: 30 ms
    settings.release_interval = release;
    settings.stages = {{.name = "off", .hold = 3s, .action = Action::power_off}};
    return settings;
}

const int trains = shortened ? 500 : 20'000;

}  // namespace

TEST_CASE("the default interval rides out every good switch that was measured", "[bounce]") {
    Dice dice(seed_for("good switches"));
    const Settings settings = with_release(Settings{}.release_interval);
    REQUIRE(settings.press_interval == 30ms);
    REQUIRE(settings.release_interval == 30ms);
    for (const Duration bounce : {mean_of_good, most_of_good}) {
        for (int i = 0; i < trains; ++i) {
            const Outcome outcome = press_with(dice, settings, bounce, bounce);
            REQUIRE(outcome.presses == 1);
            REQUIRE(outcome.asks == 1);
            REQUIRE(outcome.held == outcome.true_hold);
            REQUIRE(outcome.left == outcome.opened + bounce + settings.release_interval);
        }
    }
}

TEST_CASE("a release interval of 160 ms rides out the worst switch that was measured", "[bounce]") {
    Dice dice(seed_for("worst switch"));
    const Settings settings = with_release(160ms);
    for (int i = 0; i < trains; ++i) {
        const Outcome outcome = press_with(dice, settings, most_of_good, worst_opening);
        REQUIRE(outcome.presses == 1);
        REQUIRE(outcome.asks == 1);
        REQUIRE(outcome.held == outcome.true_hold);
        REQUIRE(outcome.left == outcome.opened + worst_opening + settings.release_interval);
    }
}

TEST_CASE("the worst switch with 30 ms is safe: it ends early, never overstated, asks once",
          "[bounce]") {
    Dice dice(seed_for("worst switch, default interval"));
    const Settings settings = with_release(30ms);
    int early = 0;
    for (int i = 0; i < trains; ++i) {
        const Outcome outcome = press_with(dice, settings, most_of_good, worst_opening);
        REQUIRE(outcome.presses == 1);
        REQUIRE(outcome.asks == 1);
        REQUIRE(outcome.held == outcome.true_hold);
        early += outcome.left < outcome.opened + worst_opening ? 1 : 0;
    }
    std::cout << early << " of " << trains
              << " trains of 157 ms ended before the contacts were quiet" << std::endl;
    CHECK(early > 0);  // else 160 ms would not be needed
}

TEST_CASE("an interval shorter than the bounce breaks the press in two, and is safe too",
          "[bounce]") {
    Dice dice(seed_for("interval too short"));
    Settings settings = with_release(1ms);
    settings.press_interval = 1ms;
    int broken = 0;
    for (int i = 0; i < trains; ++i) {
        const Outcome outcome = press_with(dice, settings, most_of_good, most_of_good);
        REQUIRE(outcome.asks <= 1);
        broken += outcome.presses > 1 ? 1 : 0;
        if (outcome.asks == 1) {  // with 1 ms the bounces themselves may settle
            REQUIRE(outcome.held <= outcome.true_hold + 2 * most_of_good);
        }
    }
    CHECK(broken > 0);
}
