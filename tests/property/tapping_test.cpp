// SPDX-License-Identifier: MIT
// Who taps, and a line that chatters or hums, does not hold, though no pause settles as a release.
#include "base/duration_text.hpp"
#include "property/scene.hpp"
#include "property/sweep.hpp"

#include <algorithm>
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

constexpr Intervals tide_logger{30ms, 160ms};  // as in config/examples/tide-logger.toml

Settings three_seconds(const Intervals& intervals) {
    Settings settings;
    settings.press_interval = intervals.press;
    settings.release_interval = intervals.release;
    settings.stages = {{.name = "off", .hold = 3s, .action = Action::power_off}};
    return settings;
}

/// Pressed for `pressed` from now on, then released for `released`.
void tap(Shell& shell, Instant& now, Duration pressed, Duration released) {
    shell.sample(now, Level::active);
    shell.sample(now + pressed, Level::inactive);
    now += pressed + released;
}

struct Account {
    std::size_t asks = 0;
    Duration longest{};  ///< of what was taken for a hold
};

Account account_of(Shell& shell, Instant now) {
    shell.wait(now + 10s);
    Account account{asks_in(shell.left()), {}};
    for (const Note& note : shell.notes()) {
        if (note.why == Why::near_miss || note.why == Why::decided) {
            account.longest = std::max(account.longest, note.length);
        }
    }
    return account;
}

Account taps(const Intervals& intervals, int count, Duration pressed, Duration released) {
    Shell shell(three_seconds(intervals), line_start, Level::inactive);
    Instant now = line_start + 1s;
    for (int i = 0; i < count; ++i) {
        tap(shell, now, pressed, released);
    }
    return account_of(shell, now);
}

/// A hold of 4 s with `count` drop-outs of `dropped`, one every `every` from its first second on.
Account hold_with(const Intervals& intervals, int count, Duration dropped, Duration every) {
    Shell shell(three_seconds(intervals), line_start, Level::inactive);
    Instant now = line_start + 1s;
    const Instant end = now + 4s;
    tap(shell, now, 1s, dropped);
    for (int i = 1; i < count; ++i) {
        tap(shell, now, every - dropped, dropped);
    }
    tap(shell, now, end - now, 0s);
    return account_of(shell, now);
}

}  // namespace

TEST_CASE("quick taps are no hold", "[tapping]") {
    // Two pauses are a release. So the last press is one tap, or two and the pause between them.
    for (const auto& [count, last] : {std::pair{23, 70ms}, std::pair{24, 220ms}}) {
        const Account account = taps(tide_logger, count, 70ms, 80ms);
        CHECK(account.asks == 0);
        CHECK(account.longest == last);
    }
}

TEST_CASE("a chattering relay is not a hold", "[tapping]") {
    const Account account = taps(tide_logger, 48, 40ms, 43ms);
    CHECK(account.asks == 0);
    CHECK(account.longest < 500ms);
}

TEST_CASE("mains hum at 50 Hz is not a hold", "[tapping]") {
    for (const Intervals& intervals : {Intervals{5ms, 160ms}, Intervals{5ms, 30ms}}) {
        const Account account = taps(intervals, 200, 10ms, 10ms);
        CHECK(account.asks == 0);
        CHECK(account.longest < 500ms);
    }
}

TEST_CASE("no regular tapping, chatter or hum makes a hold", "[tapping]") {
    std::size_t lines = 0;
    for (const Intervals& intervals :
         {Intervals{5ms, 30ms}, Intervals{5ms, 160ms}, Intervals{30ms, 30ms}, tide_logger}) {
        for (Duration pressed = 2ms; pressed < 400ms; pressed += 1ms + pressed / 8) {
            for (Duration released = 2ms; released < 200ms; released += 1ms + released / 8) {
                const auto pauses = 3s / (pressed + released);  // in any three seconds, at least
                if (pauses * released >= intervals.release) {
                    INFO(to_text(pressed) << " pressed, " << to_text(released) << " released");
                    const int count = static_cast<int>(2 * pauses) + 2;
                    REQUIRE(taps(intervals, count, pressed, released).asks == 0);
                    ++lines;
                }
            }
        }
    }
    std::cout << lines << " kinds of tapping" << std::endl;
    CHECK(lines > 1'000);
}

TEST_CASE("a hold with drop-outs that do not add up to a release is one", "[tapping]") {
    for (const Account& account : {hold_with(tide_logger, 3, 29ms, 500ms),
                                   hold_with({10ms, 30ms}, 60, 100us, 20ms),
                                   hold_with({30ms, 30ms}, 2, 14ms, 500ms)}) {
        CHECK(account.asks == 1);
        CHECK(account.longest == 4s);
    }
}

TEST_CASE("a hold with drop-outs that do add up begins anew at the last of them", "[tapping]") {
    const Account account = hold_with({30ms, 30ms}, 2, 15ms, 500ms);
    CHECK(account.asks == 0);
    CHECK(account.longest == 4s - 1s - 15ms - 500ms);
}

TEST_CASE("who taps and then holds is taken at the hold", "[tapping]") {
    Shell shell(three_seconds(tide_logger), line_start, Level::inactive);
    Instant now = line_start + 1s;
    for (int i = 0; i < 8; ++i) {
        tap(shell, now, 70ms, 80ms);
    }
    tap(shell, now, 3s, 1s);
    const Account account = account_of(shell, now);
    CHECK(account.asks == 1);
    CHECK(account.longest == 3s);
}

namespace {

/// Stretches of the line, pressed first, and the intervals that it is debounced with.
struct Tapping {
    std::string_view what;
    Intervals intervals;
    std::vector<Duration> stretches;
};

std::vector<Duration> again_and_again(int count, Duration pressed, Duration released) {
    std::vector<Duration> stretches;
    for (int i = 0; i < count; ++i) {
        stretches.push_back(pressed);
        stretches.push_back(released);
    }
    return stretches;
}

/// Two taps, and between them spikes each 20 ms.
std::vector<Duration> two_taps_with_spikes() {
    std::vector<Duration> stretches{150ms, 20ms};
    for (int i = 0; i < 190; ++i) {
        stretches.push_back(100us);
        stretches.push_back(19900us);
    }
    stretches.insert(stretches.end(), {150ms, 1s});
    return stretches;
}

std::vector<Tapping> tappings() {
    return {{"quick taps", tide_logger, again_and_again(23, 70ms, 80ms)},
            {"a chattering relay", tide_logger, again_and_again(48, 40ms, 43ms)},
            {"hum at 5/160", {5ms, 160ms}, again_and_again(200, 10ms, 10ms)},
            {"hum at 5/30", {5ms, 30ms}, again_and_again(200, 10ms, 10ms)},
            {"two taps with spikes", {30ms, 30ms}, two_taps_with_spikes()}};
}

}  // namespace

// Each tapping in each state. NOLINTNEXTLINE(readability-function-cognitive-complexity)
TEST_CASE("no tapping, chatter or hum makes a hold in any state", "[tapping]") {
    for (const Tapping& tapping : tappings()) {
        for (std::size_t i = 0; i < state_count; ++i) {
            const auto state = static_cast<State>(i);
            Scene scene(state, three_seconds(tapping.intervals));
            scene.shell.opens = true;
            const std::size_t before = scene.asks();
            Level level = Level::active;
            if (scene.level == Level::active) {  // what was down is let go, for one stretch
                scene.shell.sample(scene.now, Level::inactive);
                scene.pass(tapping.stretches[1]);
            }
            for (const Duration stretch : tapping.stretches) {
                scene.shell.sample(scene.now, level);
                scene.pass(stretch);
                level = !level;
            }
            scene.pass(20s);
            INFO(tapping.what << " in " << text_of(state) << "\n" << text_of(scene.shell.notes()));
            // A countdown ends as it would have, or is called off; "two taps" let go of a hold.
            const bool own = state == State::countdown ||
                             (state == State::ready && tapping.stretches[1] == 20ms);
            CHECK(scene.asks() <= before + (own ? 1 : 0));
            for (const Note& note : scene.shell.notes()) {
                if (note.why == Why::decided && note.at > scene.now - 20s) {
                    FAIL("a tap was a hold");
                }
            }
        }
    }
}
