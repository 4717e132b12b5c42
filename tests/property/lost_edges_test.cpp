// SPDX-License-Identifier: MIT
// Edges that never come, come late, or come in the wrong order.
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

/// What the wire is at `at`; an edge of that very instant has not happened yet.
Level level_at(const model::Line& line, Instant at) {
    Level level = line.level;
    for (const Sample& sample : line.samples) {
        if (sample.stamp >= at) {
            break;
        }
        level = sample.level;
    }
    return level;
}

/// Whether a read at `at` may have found `wanted`: just before the edges of that instant or amid
/// them.
bool may_read(const model::Line& line, Instant at, Level wanted) {
    return level_at(line, at) == wanted ||
           std::any_of(line.samples.begin(), line.samples.end(), [&](const Sample& sample) {
               return sample.stamp == at && sample.level == wanted;
           });
}

std::size_t count_of(const std::vector<Note>& notes, Why why) {
    return static_cast<std::size_t>(
        std::count_if(notes.begin(), notes.end(), [&](const Note& n) { return n.why == why; }));
}

struct Losses {
    std::uint64_t runs = 0;
    std::uint64_t requests = 0;
    std::uint64_t resyncs = 0;
    std::string wrong;
};

/// Follows what leaves the core, next to what was seen of the line since it was last read anew.
class Watch {
public:
    Watch(const Settings& settings, const model::Line& truth)
        : settings_(settings), truth_(truth), seen_{truth.start, truth.level, {}, truth.end} {}

    /// To be called after everything that was done to the shell.
    void look(const Shell& shell) {
        for (; looked_ < shell.left().size(); ++looked_) {
            const Left& left = shell.left()[looked_];
            if (std::holds_alternative<RunResync>(left.action)) {
                seen_ = {left.at, level_at(truth_, left.at), {}, truth_.end};
                ++resyncs;
            } else if (std::holds_alternative<Ask>(left.action)) {
                ++requests;
                judge(left);
            }
        }
    }

    void see(const Sample& sample) { seen_.samples.push_back(sample); }

    std::uint64_t requests = 0;
    std::uint64_t resyncs = 0;
    std::string wrong;

private:
    void judge(const Left& left) {
        const Level wanted = settings_.act_on == ActOn::release ? Level::inactive : Level::active;
        wrong += unjustified(settings_, seen_, left);
        if (!may_read(truth_, left.at, wanted)) {
            wrong += "the level read does not confirm it";
        }
    }

    const Settings& settings_;
    const model::Line& truth_;
    model::Line seen_;
    std::size_t looked_ = 0;
};

/// Runs the line without the edges of `lost` (a bit each); the level reads tell the truth.
void run_with_losses(const Settings& settings,
                     const model::Line& truth,
                     std::size_t lost,
                     Losses& losses) {
    Shell shell(settings, truth.start, truth.level);
    shell.true_level = [&](Instant at) { return level_at(truth, at); };
    Watch watch(settings, truth);
    for (std::size_t i = 0; i < truth.samples.size(); ++i) {
        if (((lost >> i) & 1U) == 0) {
            shell.wait(truth.samples[i].stamp);
            watch.look(shell);
            watch.see(truth.samples[i]);
            shell.sample(truth.samples[i].stamp, truth.samples[i].level);
            watch.look(shell);
        }
    }
    shell.wait(truth.end);
    watch.look(shell);
    ++losses.runs;
    losses.requests += watch.requests;
    losses.resyncs += watch.resyncs;
    if (!watch.wrong.empty()) {
        losses.wrong = watch.wrong + "\n" + text_of(settings) + "\n" + text_of(truth) +
                       "\nlost: " + std::to_string(lost) + "\n" + text_of(shell.left()) +
                       text_of(shell.notes());
    }
}

void check_losses(Sweep sweep, std::string_view name) {
    if (shortened) {
        sweep.length -= 2;
    }
    Losses losses;
    for_each_line(sweep, [&](const model::Line& line) {
        const std::size_t all = std::size_t{1} << line.samples.size();
        for (std::size_t lost = 1; losses.wrong.empty() && lost < all; ++lost) {
            run_with_losses(sweep.settings, line, lost, losses);
        }
        return losses.wrong.empty();
    });
    std::cout << "lost edges, " << name << ": " << losses.runs << " runs of up to " << sweep.length
              << " edges" << (shortened ? " (shortened)" : "") << ", " << losses.requests
              << " requests, " << losses.resyncs << " resyncs" << std::endl;
    INFO(losses.wrong);
    CHECK(losses.wrong.empty());
    CHECK(losses.requests > 0);
    CHECK(losses.resyncs > 0);
}

}  // namespace

TEST_CASE("edges lost in silence never make a request that the edges seen do not justify",
          "[lost]") {
    Settings settings = small_settings();
    check_losses({.settings = settings, .gaps = critical_gaps(settings), .length = 6},
                 "equal intervals");
    settings.release_interval = 50ms;
    check_losses(
        {.settings = settings, .gaps = {0ms, 29ms, 30ms, 49ms, 50ms, 90ms, 300ms}, .length = 5},
        "slower release");
    settings.act_on = ActOn::threshold;
    check_losses(
        {.settings = settings, .gaps = {0ms, 29ms, 30ms, 50ms, 94ms, 95ms, 300ms}, .length = 5},
        "threshold");
}

TEST_CASE("a lost release is noticed at the next deadline and the line read anew", "[lost]") {
    const Settings settings = small_settings();
    Shell shell(settings, line_start, Level::inactive);
    const Instant let_go = line_start + 150ms;
    shell.true_level = [&](Instant at) {
        return at > line_start + 100ms && at <= let_go ? Level::active : Level::inactive;
    };
    shell.sample(line_start + 100ms, Level::active);
    shell.wait(line_start + 10s);  // the edge at 150 ms never comes; the hold is due at 190 ms
    REQUIRE(shell.left().size() == 1);
    CHECK(std::holds_alternative<RunResync>(shell.left()[0].action));
    CHECK(shell.left()[0].at >= line_start + 190ms);
    CHECK(shell.left()[0].at <= line_start + 190ms + 100ms);
    CHECK(count_of(shell.notes(), Why::stage_reached) == 0);
    CHECK(shell.core().state() == State::rest);
}

TEST_CASE("an edge younger than a contradicting read does not explain it", "[lost]") {
    for (const ActOn act_on : {ActOn::release, ActOn::threshold}) {
        Settings settings = small_settings();
        settings.act_on = act_on;
        Shell shell(settings, line_start, Level::inactive);
        const Instant press = line_start + 100ms;
        // Let go at 60 ms and pressed again at 91 ms, both edges lost; the hold is due at 90 ms (on
        // the threshold at 95 ms). The release at the end comes before the level is read again.
        const Duration guard = act_on == ActOn::threshold ? settings.threshold_guard : 0ms;
        const Instant last = press + 93ms + guard;
        shell.true_level = [&](Instant at) {
            const bool dropped = at > press + 60ms && at <= last - 2ms;
            return at > press && at < last && !dropped ? Level::active : Level::inactive;
        };
        shell.sample(press, Level::active);
        shell.sample(last, Level::inactive);
        shell.wait(press + 10s);
        INFO(text_of(shell.notes()));
        CHECK(asks_in(shell.left()) == 0);
        CHECK(count_of(shell.notes(), Why::contradiction) == 1);
        CHECK(shell.core().state() == State::rest);
    }
}

TEST_CASE("a level that was away at a read and is back with no edge means lost edges", "[lost]") {
    const Settings settings = small_settings();
    Shell shell(settings, line_start, Level::inactive);
    const Instant press = line_start + 100ms;
    shell.true_level = [&](Instant at) {
        const bool away = at > press + 89ms && at <= press + 91ms;  // the hold is due at 90 ms
        return at > press && at <= press + 120ms && !away ? Level::active : Level::inactive;
    };
    shell.sample(press, Level::active);
    shell.sample(press + 120ms, Level::inactive);
    shell.wait(press + 10s);
    INFO(text_of(shell.notes()));
    REQUIRE(shell.left().size() == 1);
    CHECK(std::holds_alternative<RunResync>(shell.left()[0].action));
    CHECK(shell.core().state() == State::rest);
}

TEST_CASE("a request that the read does not confirm is dropped and never leaves", "[lost]") {
    const Settings settings = small_settings();
    Shell shell(settings, line_start, Level::inactive);
    shell.obeys_resync = false;
    shell.feed(Sample{line_start + 100ms, Level::active});
    shell.feed(Sample{line_start + 300ms, Level::inactive});
    shell.feed(Sample{line_start + 330ms, Level::inactive});
    shell.feed(Sample{line_start + 400ms, Level::inactive});  // by now the release had settled
    shell.true_level = [](Instant) { return Level::active; };
    shell.wake(line_start + 401ms);
    REQUIRE(shell.left().size() == 1);
    CHECK(std::holds_alternative<RunResync>(shell.left()[0].action));
    shell.feed(Resync{line_start + 402ms, Level::active, ResyncWhy::contradiction, 0});
    shell.wait(line_start + 10s);
    shell.feed(Sample{line_start + 11s, Level::inactive});
    shell.true_level = [](Instant) { return Level::inactive; };
    shell.wait(line_start + 20s);
    CHECK(asks_in(shell.left()) == 0);
    CHECK(shell.core().state() == State::rest);
}

// --- late ----------------------------------------------------------------------------------------

TEST_CASE("a release that comes late keeps its stamp: the hold is not made longer", "[late]") {
    const Settings settings = small_settings();
    for (const bool read_too_early : {false, true}) {
        for (const Duration hold : {89ms, 90ms}) {
            Shell shell(settings, line_start, Level::inactive);
            const Instant press = line_start + 100ms;
            const Instant let_go = press + hold;
            shell.true_level = [&](Instant at) {
                const bool pressed = at > press && (at <= let_go || read_too_early);
                return pressed ? Level::active : Level::inactive;
            };
            shell.sample(press, Level::active);
            shell.wait(press + 95ms);
            shell.wake(press + 95ms);  // the hold was due at 90 ms
            shell.true_level = {};
            shell.feed(Sample{let_go, Level::inactive});
            shell.wait(line_start + 10s);
            INFO("hold " << to_text(hold) << "\n" << text_of(shell.notes()));
            CHECK(asks_in(shell.left()) == (hold >= 90ms ? 1 : 0));
            CHECK(shell.core().late_edges() == 1);
        }
    }
}

namespace {

/// The line's edges reach the core up to 5 ms late, in order; deadlines are met meanwhile.
std::string late_difference(Dice& dice,
                            const Settings& settings,
                            const model::Line& line,
                            std::uint64_t& requests) {
    Shell shell(settings, line.start, line.level);
    shell.true_level = [&](Instant at) { return level_at(line, at); };
    Watch watch(settings, line);
    Instant delivered = line.start;
    for (const Sample& sample : line.samples) {
        const Duration latency = Duration(1us) * static_cast<std::int64_t>(dice.below(5'000));
        delivered = std::max(delivered, sample.stamp + latency);
        shell.wait(delivered);
        watch.look(shell);
        watch.see(sample);
        shell.feed(sample);
        shell.wake(delivered);
        watch.look(shell);
    }
    shell.wait(line.end);
    watch.look(shell);
    requests += watch.requests;
    return watch.wrong.empty() ? ""
                               : watch.wrong + "\n" + text_of(settings) + "\n" + text_of(line) +
                                     "\n" + text_of(shell.left()) + text_of(shell.notes());
}

}  // namespace

TEST_CASE("edges that come late never make a request that their stamps do not justify", "[late]") {
    Dice dice(seed_for("late edges"));
    const int count = shortened ? 10'000 : 200'000;
    std::uint64_t requests = 0;
    for (int i = 0; i < count; ++i) {
        Settings settings = small_settings();
        settings.release_interval = dice.one_in(2) ? 30ms : 50ms;
        settings.act_on = dice.one_in(3) ? ActOn::threshold : ActOn::release;
        const model::Line line = random_line(dice, settings, 12);
        const std::string wrong = late_difference(dice, settings, line, requests);
        if (!wrong.empty()) {
            FAIL(wrong);
        }
    }
    CHECK(requests > 0);
}

// --- out of order, gaps --------------------------------------------------------------------------

TEST_CASE("an edge older than the one before it voids the press and has the line read anew",
          "[order]") {
    const Settings settings = small_settings();
    for (const Duration after : {10ms, 50ms, 100ms}) {  // unsettled, holding, ready
        Shell shell(settings, line_start, Level::inactive);
        shell.obeys_resync = false;
        const Instant press = line_start + 100ms;
        shell.sample(press, Level::active);
        shell.wait(press + after);
        shell.feed(Sample{press - 1ns, Level::active});
        shell.wake(press + after);
        const auto is_a_look = [](const auto& left) {
            return std::holds_alternative<LookAtPostHalt>(left.action);
        };
        const auto& all = shell.left();  // ready was reached with a look at the post-halt line
        CHECK(std::count_if(all.begin(), all.end(), is_a_look) == (after == 100ms ? 1 : 0));
        REQUIRE(all.size() == (after == 100ms ? 2 : 1));
        CHECK(std::holds_alternative<RunResync>(all.back().action));
        CHECK(shell.core().state() == State::waiting);
        // Until it has been read anew nothing counts.
        shell.feed(Sample{press + 200ms, Level::inactive});
        shell.wait(press + 1s);
        CHECK(shell.core().state() == State::waiting);
        shell.feed(Resync{press + 1s, Level::inactive, ResyncWhy::gap, 0});
        shell.wait(press + 2s);
        CHECK(shell.core().state() == State::rest);
        CHECK(asks_in(shell.left()) == 0);
    }
}

TEST_CASE("a Resync voids whatever press was under way, at every moment of it", "[order]") {
    const Settings settings = small_settings();
    for (Duration when = 0ms; when <= 320ms; when += 1ms) {
        Shell shell(settings, line_start, Level::inactive);
        const Instant press = line_start + 100ms;
        const Instant let_go = press + 200ms;
        const bool pressed = when < 200ms;
        shell.sample(press, Level::active);
        if (!pressed) {
            shell.sample(let_go, Level::inactive);
        }
        shell.wait(press + when);
        const std::size_t before = asks_in(shell.left());
        CHECK(before == (when >= 230ms ? 1 : 0));
        shell.feed(
            Resync{press + when, pressed ? Level::active : Level::inactive, ResyncWhy::gap, 0});
        if (pressed) {
            shell.sample(let_go, Level::inactive);
        }
        shell.wait(line_start + 10s);
        INFO("Resync " << to_text(when) << " after the press\n" << text_of(shell.notes()));
        CHECK(asks_in(shell.left()) == before);
    }
}
