// SPDX-License-Identifier: MIT
// What must not change what the core does: how samples are grouped and when it is called, what the
// clock stood at, which electrical level means pressed.
#include "property/random_line.hpp"
#include "property/record.hpp"
#include "property/sweep.hpp"
#include "support/enumerate.hpp"

#include <iostream>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::core;
using namespace nightlatch::test;

namespace {

std::string differing(const Settings& settings,
                      const model::Line& line,
                      const Record& one,
                      const Record& other) {
    return text_of(settings) + "\n" + text_of(line) + "\none:\n" + text_of(one) + "other:\n" +
           text_of(other);
}

/// All ways to wake up between the samples of one line; the first one that changes something.
std::string batching_difference(const Settings& settings,
                                const model::Line& line,
                                std::uint64_t& runs) {
    const Record expected = run(settings, line);
    std::string wrong;
    std::vector<Between> between(line.samples.size() + 1);
    runs += for_each_word(between_count, between.size(), [&](const std::vector<std::size_t>& word) {
        for (std::size_t i = 0; i < word.size(); ++i) {
            between[i] = static_cast<Between>(word[i]);
        }
        const Record record = run(settings, line, between);
        if (record != expected) {
            wrong = differing(settings, line, expected, record);
        }
        return wrong.empty();
    });
    return wrong;
}

void check_batching(Sweep sweep, std::string_view name) {
    if (shortened) {
        sweep.length -= 2;
    }
    std::uint64_t runs = 0;
    std::string wrong;
    for_each_line(sweep, [&](const model::Line& line) {
        wrong = batching_difference(sweep.settings, line, runs);
        return wrong.empty();
    });
    std::cout << "batching, " << name << ": " << runs << " runs of up to " << sweep.length
              << " samples" << (shortened ? " (shortened)" : "") << std::endl;
    INFO(wrong);
    CHECK(wrong.empty());
}

}  // namespace

TEST_CASE("it makes no difference how up to five edges are grouped and when the core is advanced",
          "[invariance]") {
    const Settings settings = small_settings();
    check_batching({.settings = settings, .gaps = critical_gaps(settings), .length = 5},
                   "alternating edges");
    check_batching({.settings = settings,
                    .gaps = {0ms, 29ms, 30ms, 90ms, 300ms},
                    .length = 4,
                    .repeats = true},
                   "repeated levels");
}

TEST_CASE("grouping makes no difference to announcements and on the threshold", "[invariance]") {
    Settings settings = small_settings();
    settings.stages.front().action = Action::announce;
    const std::vector<Duration> gaps{0ms, 29ms, 30ms, 90ms, 95ms, 300ms};
    check_batching({.settings = settings, .gaps = gaps, .length = 5}, "announcements");
    settings.act_on = ActOn::threshold;
    check_batching({.settings = settings, .gaps = gaps, .length = 5}, "threshold, announced");
    settings.stages.front().action = Action::power_off;
    check_batching({.settings = settings, .gaps = gaps, .length = 5}, "threshold");
}

TEST_CASE("grouping makes no difference to a countdown", "[invariance]") {
    Settings settings = small_settings();
    settings.grace = 600ms;
    check_batching({.settings = settings,
                    .gaps = {0ms, 29ms, 30ms, 99ms, 100ms, 130ms, 500ms},
                    .length = 4,
                    .prefix = {50ms, 90ms}},
                   "countdown");
}

TEST_CASE("grouping makes no difference to long random lines either", "[invariance]") {
    Dice dice(seed_for("grouping of random lines"));
    const int count = shortened ? 2'000 : 50'000;
    for (int i = 0; i < count; ++i) {
        const Settings settings = random_settings(dice);
        const model::Line line = random_line(dice, settings, 12);
        const Record expected = run(settings, line);
        std::vector<Between> between(line.samples.size() + 1);
        for (Between& each : between) {
            each = static_cast<Between>(dice.below(between_count));
        }
        const Record record = run(settings, line, between);
        if (record != expected) {
            FAIL(differing(settings, line, expected, record));
        }
    }
}

TEST_CASE("it makes no difference what the clock stands at", "[invariance]") {
    Dice dice(seed_for("shift"));
    const int count = shortened ? 2'000 : 50'000;
    for (int i = 0; i < count; ++i) {
        const Settings settings = random_settings(dice);
        model::Line line = random_line(dice, settings, 12);
        const Record expected = run(settings, line);
        const Duration shift{static_cast<std::int64_t>(dice.below(std::uint64_t{1} << 60U))};
        line.start += shift;
        line.end += shift;
        for (Sample& sample : line.samples) {
            sample.stamp += shift;
        }
        const Record record = run(settings, line);
        if (record != expected) {
            FAIL(differing(settings, line, expected, record));
        }
    }
}

namespace {

/// A wire's electrical level, and what the adapter makes of it.
enum class Wire : unsigned char { low, high };

Level as_pressed(Wire wire, Wire pressed) {
    return wire == pressed ? Level::active : Level::inactive;
}

Wire wire_of(Level level, Wire pressed) {
    const bool high = (level == Level::active) == (pressed == Wire::high);
    return high ? Wire::high : Wire::low;
}

}  // namespace

// Polarity ends in the adapter, so the core cannot see it: what can be shown here is that the way
// through the wire loses nothing. That no level is special to the debouncing is the next test.
TEST_CASE("a button that pulls low and one that pulls high lead to the same", "[invariance]") {
    Dice dice(seed_for("polarity"));
    const int count = shortened ? 500 : 5'000;
    for (int i = 0; i < count; ++i) {
        const Settings settings = random_settings(dice);
        const model::Line line = random_line(dice, settings, 12);
        const auto through = [&](Wire pressed) {
            model::Line read = line;
            read.level = as_pressed(wire_of(line.level, pressed), pressed);
            for (Sample& sample : read.samples) {
                sample.level = as_pressed(wire_of(sample.level, pressed), pressed);
            }
            return run(settings, read);
        };
        const Record low = through(Wire::low);
        const Record high = through(Wire::high);
        if (low != high || low != run(settings, line)) {
            FAIL(differing(settings, line, low, high));
        }
    }
}

namespace {

/// Each settling as (instant, level as settled; none for void or glitch).
std::vector<std::pair<Instant, int>> settlings(const model::Line& line,
                                               Duration press,
                                               Duration release,
                                               bool inverted) {
    std::vector<std::pair<Instant, int>> all;
    Debounce debounce;
    debounce.set_intervals(press, release);
    debounce.reset(line.start, inverted ? !line.level : line.level);
    const auto pass = [&](Instant until) {
        while (debounce.deadline() <= until) {
            const Settled settled = debounce.expire();
            const bool pressed =
                settled.kind == SettleKind::pressed || settled.kind == SettleKind::found_pressed;
            const bool changed = pressed || settled.kind == SettleKind::released;
            all.emplace_back(settled.at, changed ? int{pressed != inverted} : -1);
        }
    };
    for (const Sample& sample : line.samples) {
        pass(sample.stamp);
        debounce.sample({sample.stamp, inverted ? !sample.level : sample.level});
    }
    pass(line.end);
    return all;
}

}  // namespace

TEST_CASE("the mirrored line with the intervals exchanged settles at the same instants",
          "[invariance]") {
    Dice dice(seed_for("mirror"));
    const int count = shortened ? 5'000 : 100'000;
    std::size_t settled = 0;
    for (int i = 0; i < count; ++i) {
        const Settings settings = random_settings(dice);
        const model::Line line = random_line(dice, settings, 12);
        const Duration press = settings.press_interval;
        const Duration release = settings.release_interval;
        const auto straight = settlings(line, press, release, false);
        settled += straight.size();
        if (straight != settlings(line, release, press, true)) {
            FAIL(text_of(settings) + "\n" + text_of(line));
        }
    }
    CHECK(settled > static_cast<std::size_t>(count));
}
