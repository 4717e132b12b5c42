// SPDX-License-Identifier: MIT
// Promises that need no model to be believed.
#include "base/duration_text.hpp"
#include "property/random_line.hpp"
#include "property/safety.hpp"
#include "property/sweep.hpp"

#include <algorithm>
#include <iostream>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::core;
using namespace nightlatch::test;

namespace {

/// Runs the line deadline by deadline; the first request that nothing justifies.
std::string first_unjustified(const Settings& settings,
                              const model::Line& line,
                              std::uint64_t& requests) {
    Shell shell(settings, line.start, line.level);
    for (const Sample& sample : line.samples) {
        shell.sample(sample.stamp, sample.level);
    }
    shell.wait(line.end);
    const std::vector<Left> left = requests_of(shell.left());
    requests += left.size();
    for (const Left& each : left) {
        const std::string missing = unjustified(settings, line, each);
        if (!missing.empty()) {
            return missing + "\n" + text_of(settings) + "\n" + text_of(line) + "\n" +
                   text_of(left) + text_of(shell.notes());
        }
    }
    return {};
}

void check_safe(Sweep sweep, std::string_view name) {
    if (shortened) {
        sweep.length -= 2;
    }
    std::uint64_t lines = 0;
    std::uint64_t requests = 0;
    std::string wrong;
    for_each_line(sweep, [&](const model::Line& line) {
        ++lines;
        wrong = first_unjustified(sweep.settings, line, requests);
        return wrong.empty();
    });
    std::cout << "safety, " << name << ": " << lines << " lines of up to " << sweep.length
              << " samples" << (shortened ? " (shortened)" : "") << ", " << requests << " requests"
              << std::endl;
    INFO(wrong);
    CHECK(wrong.empty());
    CHECK(requests > 0);
}

}  // namespace

TEST_CASE("no request without a hold long enough, its drop-outs too short to be a release in all",
          "[safety]") {
    Settings settings = small_settings();
    check_safe({.settings = settings, .gaps = critical_gaps(settings), .length = 7}, "edges");
    settings.release_interval = 50ms;
    check_safe({.settings = settings,
                .gaps = {0ms, 29ms, 30ms, 49ms, 50ms, 90ms, 300ms},
                .length = 5,
                .repeats = true},
               "repeated levels");
    settings.stages.front().action = Action::announce;
    check_safe({.settings = settings, .gaps = critical_gaps(settings), .length = 5}, "announced");
    settings.act_on = ActOn::threshold;
    check_safe({.settings = settings,
                .gaps = {0ms, 29ms, 30ms, 50ms, 94ms, 95ms, 300ms},
                .length = 5,
                .repeats = true},
               "threshold");
}

TEST_CASE("no request without a hold on random lines either", "[safety]") {
    Dice dice(seed_for("safety"));
    const int count = shortened ? 10'000 : 200'000;
    std::uint64_t requests = 0;
    for (int i = 0; i < count; ++i) {
        const Settings settings = random_settings(dice);
        const std::string wrong =
            first_unjustified(settings, random_line(dice, settings, 30), requests);
        if (!wrong.empty()) {
            FAIL(wrong);
        }
    }
    CHECK(requests > static_cast<std::uint64_t>(count) / 10);
}

TEST_CASE("a level present at start never leads to a request, however long it lasts", "[safety]") {
    for (const ActOn act_on : {ActOn::release, ActOn::threshold}) {
        Settings settings = small_settings();
        settings.act_on = act_on;
        for (Duration held = 0ms; held < 400ms; held += 1ms) {
            Shell shell(settings, line_start, Level::active);
            shell.sample(line_start + held, Level::inactive);
            shell.wait(line_start + held + 10s);
            INFO("held for " << to_text(held));
            CHECK(requests_of(shell.left()).empty());
            CHECK(shell.core().state() == State::rest);
        }
    }
}

// --- one request a press ------------------------------------------------------------------------

namespace {

/// A deliberate press as a hand makes it: contacts bounce for less than a second on both ends,
/// drop-outs on the way are shorter than the release interval in all.
struct HandMade {
    std::vector<Sample> samples;
    Instant settled_begin;
    Instant let_go;
    Instant decided;  ///< the latest time by which the request must be out
};

Duration below(Dice& dice, Duration limit) {
    return Duration(static_cast<std::int64_t>(
        dice.below(static_cast<std::uint64_t>(std::max<std::int64_t>(limit.count(), 1)))));
}

// NOLINTNEXTLINE(readability-function-size): five things make a bounce.
void bounce(Dice& dice, const Settings& settings, Instant& at, Level to, HandMade& press) {
    const std::uint64_t pairs = dice.below(6);
    press.samples.push_back({at, to});
    for (std::uint64_t i = 0; i < pairs; ++i) {
        const Duration pressed = below(dice, settings.press_interval);
        const Duration released = below(dice, settings.release_interval);
        at += to == Level::active ? pressed : released;
        press.samples.push_back({at, !to});
        at += to == Level::active ? released : pressed;
        press.samples.push_back({at, to});
    }
}

HandMade hand_made(Dice& dice, const Settings& settings, Instant at, Duration hold) {
    HandMade press;
    bounce(dice, settings, at, Level::active, press);
    press.settled_begin = at;
    const Instant end = at + hold;
    Duration left = settings.release_interval;
    at += settings.press_interval + 1ms;
    while (at < end - 2 * settings.press_interval - settings.release_interval && dice.one_in(2)) {
        press.samples.push_back({at, Level::inactive});
        const Duration dropped = below(dice, left);
        left -= dropped;
        at += dropped;
        press.samples.push_back({at, Level::active});
        at += settings.press_interval + below(dice, settings.press_interval);
    }
    press.let_go = std::max(at, end);
    at = press.let_go;
    bounce(dice, settings, at, Level::inactive, press);
    press.decided = at + settings.release_interval;
    return press;
}

Settings harbour_settings(Dice& dice) {
    Settings settings;
    settings.press_interval = 1ms + below(dice, 80ms);
    settings.release_interval = 1ms + below(dice, 80ms);
    settings.stages = {{.name = "off", .hold = 3s, .action = Action::power_off}};
    return settings;
}

}  // namespace

TEST_CASE("every deliberate press leads to exactly one request, by when its release has settled",
          "[liveness]") {
    Dice dice(seed_for("deliberate presses"));
    const int count = shortened ? 300 : 20'000;
    for (int i = 0; i < count; ++i) {
        const Settings settings = harbour_settings(dice);
        Shell shell(settings, line_start, Level::inactive);
        shell.answers = AnswerKind::refused;  // so that the next press counts too
        Instant at = line_start + settings.release_interval;
        for (std::size_t presses = 1; presses <= 4; ++presses) {
            const HandMade press =
                hand_made(dice, settings, at + below(dice, 20s), 3s + below(dice, 20s));
            for (const Sample& sample : press.samples) {
                shell.sample(sample.stamp, sample.level);
            }
            INFO(text_of(settings) << "\n" << text_of(shell.notes()) << text_of(shell.left()));
            REQUIRE(asks_in(shell.left()) == presses - 1);  // not before it is let go
            shell.wait(press.decided);
            REQUIRE(asks_in(shell.left()) == presses);
            const Ask& ask = std::get<Ask>(shell.left().back().action);
            CHECK(shell.left().back().at == press.decided);
            CHECK(ask.held == press.let_go - press.settled_begin);
            at = press.decided;
        }
        shell.wait(at + 1min);
        CHECK(asks_in(shell.left()) == 4);
    }
}

TEST_CASE("a hold let go too early leads to nothing, and the press after it counts", "[liveness]") {
    Dice dice(seed_for("near misses"));
    const int count = shortened ? 300 : 10'000;
    for (int i = 0; i < count; ++i) {
        const Settings settings = harbour_settings(dice);
        Shell shell(settings, line_start, Level::inactive);
        const Duration short_hold = 500ms + below(dice, 2s);
        const HandMade early = hand_made(dice, settings, line_start + 1s, short_hold);
        for (const Sample& sample : early.samples) {
            shell.sample(sample.stamp, sample.level);
        }
        shell.wait(early.decided + 10s);
        INFO(text_of(settings) << "\n" << text_of(shell.notes()));
        REQUIRE(requests_of(shell.left()).empty());
        REQUIRE(shell.core().state() == State::rest);
        const HandMade good = hand_made(dice, settings, early.decided + 20s, 3s);
        for (const Sample& sample : good.samples) {
            shell.sample(sample.stamp, sample.level);
        }
        shell.wait(good.decided);
        REQUIRE(asks_in(shell.left()) == 1);
    }
}

TEST_CASE("acting on the threshold asks while held, at the hold and its guard", "[liveness]") {
    Settings settings = small_settings();
    settings.act_on = ActOn::threshold;
    settings.stages.front().hold = 3s;
    settings.stuck_after = 30s;
    for (const Duration guard : {5ms, 50ms}) {
        settings.threshold_guard = guard;
        Shell shell(settings, line_start, Level::inactive);
        shell.sample(line_start + 1s, Level::active);
        shell.wait(line_start + 10s);
        REQUIRE(asks_in(shell.left()) == 1);
        CHECK(shell.left().back().at == line_start + 1s + 3s + guard);
    }
}

// --- nothing to do ------------------------------------------------------------------------------

TEST_CASE("at rest and with nothing to come there is no deadline", "[quiet]") {
    Shell shell(small_settings(), line_start, Level::inactive);
    shell.wait(line_start + 1h);
    CHECK(shell.core().state() == State::rest);
    CHECK(shell.core().next_deadline() == never);

    shell.sample(line_start + 2h, Level::active);
    shell.sample(line_start + 2h + 50ms, Level::inactive);
    shell.wait(line_start + 3h);
    CHECK(shell.core().state() == State::rest);
    CHECK(shell.core().next_deadline() == never);
}

TEST_CASE("a line pressed for ever is spoken of once and then costs no more wake-ups", "[quiet]") {
    Shell shell(small_settings(), line_start, Level::active);
    shell.wait(line_start + 1h);
    CHECK(shell.core().state() == State::waiting);
    CHECK(shell.core().next_deadline() == never);
    const auto said = std::count_if(shell.notes().begin(), shell.notes().end(), [](const Note& n) {
        return n.why == Why::pressed_since_start;
    });
    CHECK(said == 1);
}

TEST_CASE("a stuck button costs no wake-ups", "[quiet]") {
    Shell shell(small_settings(), line_start, Level::inactive);
    shell.sample(line_start + 1s, Level::active);
    shell.wait(line_start + 1h);
    CHECK(shell.core().state() == State::stuck);
    CHECK(shell.core().next_deadline() == never);
}
