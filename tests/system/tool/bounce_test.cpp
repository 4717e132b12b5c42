// SPDX-License-Identifier: MIT
// The bounce of a button on a chip in memory, and of captures in files.
#include "daemon/tool/bounce/plan.hpp"
#include "daemon/tool/bounce/progress.hpp"
#include "daemon/tool/bounce/run.hpp"
#include "daemon/tool/bounce/sources.hpp"
#include "desk.hpp"
#include "support/fake_gpiod.hpp"
#include "wave/vcd_reader.hpp"
#include "wave/vcd_writer.hpp"

#include <csignal>
#include <cstdio>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>
#include <nlohmann/json.hpp>

using namespace nightlatch;
using test::Desk;
using test::flat;
using namespace std::chrono_literals;
using bounce::BounceOutcome;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::Equals;
using Catch::Matchers::StartsWith;
using test::FakeChip;
using test::FakeGpio;
using test::FakeLine;
using tool::BounceEnd;

namespace {

/// The tide gauge's front button, pulled up and pressed to ground, on a real loop.
struct Bench {
    FakeGpio gpio;
    FakeChip& soc = gpio.add(0, "soc-gpio", {"", "FRONT_BUTTON"});
    FakeLine& button = soc.lines[1];
    std::unique_ptr<sys::EventLoop> loop = std::move(*sys::EventLoop::open());
    tool::BouncePlan plan{1, 2min, 50ms, std::nullopt, std::nullopt, false};
    tool::BounceTarget target;
    std::unique_ptr<tool::Bouncing> bouncing;
    bool told = false;

    Bench() {
        button.high = true;
        target.name = "FRONT_BUTTON";
        target.quiet = plan.quiet;
    }

    Result<std::unique_ptr<tool::Bouncing>> ask() {
        return tool::Bouncing::start(
            *loop, gpio.places(), {{"gpiochip0", "1"}, lines::Bias::pull_up, false, false}, plan);
    }

    void start() {
        auto started = ask();
        REQUIRE(started);
        bouncing = std::move(*started);
        bouncing->on_end([this] { told = true; });
        target.wanted = plan.presses;
        target.configured = plan.configured;
    }

    template <class Done>
    void turn_until(Done done) {
        while (!done() && !bouncing->ended()) {
            REQUIRE(loop->turn(10s));
        }
    }

    void until_asking() {
        turn_until([this] { return bouncing->asking(); });
        REQUIRE(bouncing->asking());
    }

    /// The contact goes to `high` now and bounces: an edge after each of the pauses.
    void bounce(bool high, const std::vector<Duration>& pauses) {
        Instant at = loop->now();
        gpio.edge(button, high, at);
        for (const Duration pause : pauses) {
            at += pause;
            high = !high;
            gpio.edge(button, high, at);
        }
    }

    /// Bounces of a press and a release; each is waited for.
    void press(const std::vector<Duration>& closing, const std::vector<Duration>& opening) {
        const std::size_t before = bouncing->seen().report.press.times;
        bounce(false, closing);
        turn_until([&] { return bouncing->seen().report.press.times > before; });
        bounce(true, opening);
        turn_until([&] { return bouncing->seen().report.whole() > before; });
    }

    tool::BounceSeen until_end() {
        turn_until([] { return false; });
        CHECK(told);
        CHECK(gpio.open_requests == 0);
        return bouncing->seen();
    }

    /// Without the line ends that fit it on a page.
    std::string text() { return flat(tool::bounce_text(target, bouncing->seen())); }
};

}  // namespace

TEST_CASE("presses are measured on the line once it is at rest, and end when there are enough",
          "[bounce]") {
    Bench bench;
    bench.plan.presses = 2;
    bench.start();
    CHECK(bench.button.request->bias != 0);
    CHECK_FALSE(bench.button.request->active_low);
    CHECK_FALSE(bench.bouncing->asking());
    bench.until_asking();
    CHECK(bench.bouncing->pressed_low());
    bench.press({1ms, 500us}, {});
    CHECK_FALSE(bench.bouncing->ended());
    bench.press({200us, 100us, 2ms, 300us}, {4ms, 1ms});
    const tool::BounceSeen seen = bench.until_end();

    CHECK(seen.end == BounceEnd::enough);
    CHECK(seen.report.press.times == 2);
    CHECK(seen.report.press.most_edges == 5);
    CHECK(seen.report.press.longest == 2600us);
    CHECK(seen.report.press.longest_closed == 2ms);
    CHECK(seen.report.press.longest_open == 500us);
    CHECK(seen.report.release.clean == 1);
    CHECK(seen.report.release.longest_open == 4ms);
    CHECK(seen.unasked == 0);
    REQUIRE(seen.presses.size() == 2);
    CHECK(*seen.presses[1].held() > 0ns);
    CHECK(tool::bounce_status(bench.target, seen) == 0);
    CHECK_THAT(bench.text(),
               StartsWith("FRONT_BUTTON bounces up to 2.6 ms pressing, up to 5 ms letting go (2 "
                          "presses). Next: put this into [button]") &&
                   ContainsSubstring(" debounce = { press = \"5 ms\", release = \"10 ms\" } "));
}

TEST_CASE("a hold is told from the contact's rest to its first opening", "[bounce]") {
    Bench bench;
    bench.start();
    bench.until_asking();
    bench.press({3ms, 2ms}, {1ms, 1ms});
    const tool::BounceSeen seen = bench.until_end();
    REQUIRE(seen.presses.size() == 1);
    const tool::BouncePress& press = seen.presses.front();
    CHECK(*press.held() == press.release->begin - press.press->begin - 5ms);
    CHECK_THAT(tool::press_line(press, 1), StartsWith("press 1: 3 edges in 5 ms; held "));
    CHECK_THAT(tool::press_line(press, 1), ContainsSubstring("; letting go: 3 edges in 2 ms"));
}

TEST_CASE("a configured debounce that a pause outlasts is told with what it would do", "[bounce]") {
    Bench bench;
    bench.plan.configured = bounce::Intervals{5ms, 5ms};
    bench.target.config = "tide.toml";
    bench.start();
    bench.until_asking();
    bench.press({}, {20ms, 10ms});  // open for 20 ms, then closed for 10 ms
    const tool::BounceSeen seen = bench.until_end();
    CHECK(tool::verdict_of(bench.target, seen) == BounceOutcome::too_short);
    CHECK(tool::bounce_status(bench.target, seen) == 1);
    CHECK_THAT(tool::bounce_text(bench.target, seen, {.columns = 80, .colour = true}),
               StartsWith("The debounce in tide.toml \x1b[1;31mis too short\x1b[0m for this"));
    CHECK_THAT(bench.text(),
               StartsWith("The debounce in tide.toml is too short for this button.") &&
                   ContainsSubstring("release = \"40 ms\"") &&
                   ContainsSubstring("Letting go, the contact stays open for 20 ms") &&
                   ContainsSubstring("this 1 press comes out as 2."));
    const auto json = nlohmann::json::parse(tool::bounce_json(bench.target, seen));
    CHECK(json["verdict"] == "too-short");
    CHECK(json["configured"]["long_enough"] == false);
    CHECK(json["configured"]["presses"] == 2);
}

TEST_CASE("edges with nobody pressing are a floating line, and nothing is measured", "[bounce]") {
    Bench bench;
    bench.start();
    auto tick = bench.loop->timer([] {});
    bool high = true;
    // An edge whenever the loop has turned, until the limit passes.
    Instant due = bench.loop->now();
    const Instant last = due + tool::Bouncing::rest_limit + 1s;
    while (!bench.bouncing->ended() && due < last) {
        due = bench.loop->now() + 100ms;
        tick.arm(due);
        high = !high;
        bench.gpio.edge(bench.button, high, bench.loop->now());
        while (bench.loop->now() < due && !bench.bouncing->ended()) {
            REQUIRE(bench.loop->turn(10s));
        }
    }
    const tool::BounceSeen seen = bench.until_end();
    CHECK(seen.end == BounceEnd::floats);
    CHECK(tool::verdict_of(bench.target, seen) == BounceOutcome::floats);
    CHECK(seen.unasked > 10);
    CHECK(tool::bounce_status(bench.target, seen) == 1);
    CHECK_THAT(bench.text(),
               StartsWith("FRONT_BUTTON floats: ") && ContainsSubstring("--bias pull-up"));
    bench.target.bias = lines::Bias::pull_up;
    CHECK_THAT(bench.text(), !ContainsSubstring("--bias"));
}

TEST_CASE("a storm ends the measurement: the line floats", "[bounce]") {
    Bench bench;
    bench.start();
    bench.until_asking();
    // 2,500 edges a second by their stamps; the kernel's buffer takes a thousand at a time.
    Instant at = bench.loop->now();
    bool high = true;
    for (int batch = 0; batch < 20 && !bench.bouncing->ended(); ++batch) {
        for (int i = 0; i < 500; ++i) {
            at += 400us;
            high = !high;
            bench.gpio.edge(bench.button, high, at);
        }
        REQUIRE(bench.loop->turn(10s));
    }
    const tool::BounceSeen seen = bench.until_end();
    CHECK(seen.end == BounceEnd::floats);
    CHECK(seen.report.storm);
    CHECK_THAT(bench.text(), ContainsSubstring("more than 2,000 edges a second"));
}

TEST_CASE("a line that rests at the pressed level is told, not measured", "[bounce]") {
    Bench bench;
    bench.plan.pressed_low = false;
    bench.start();
    const tool::BounceSeen seen = bench.until_end();
    CHECK(seen.end == BounceEnd::pressed);
    bench.target.pressed_low = false;
    CHECK_THAT(bench.text(),
               StartsWith("FRONT_BUTTON reads high, which is the pressed level, with nobody "
                          "pressing. Next: "));
    CHECK(tool::bounce_status(bench.target, seen) == 1);
}

TEST_CASE("a button that is let go before the limit is measured all the same", "[bounce]") {
    Bench bench;
    bench.plan.pressed_low = true;
    bench.button.high = false;
    bench.start();
    auto tick = bench.loop->timer([&bench] { bench.bounce(true, {}); });
    tick.arm(bench.loop->now() + 1500ms);
    bench.until_asking();
    bench.press({}, {});
    CHECK(bench.until_end().end == BounceEnd::enough);
    CHECK_THAT(bench.text(), ContainsSubstring("The line had 1 edge before you were asked"));
}

TEST_CASE("when the time is up, what there is is reported as too little", "[bounce]") {
    Bench bench;
    bench.plan.presses = 3;
    bench.plan.time = 1s;
    bench.start();
    bench.until_asking();
    bench.press({1ms, 1ms}, {});
    const tool::BounceSeen seen = bench.until_end();
    CHECK(seen.end == BounceEnd::time);
    CHECK(tool::verdict_of(bench.target, seen) == BounceOutcome::few);
    CHECK(tool::bounce_status(bench.target, seen) == 1);
    CHECK_THAT(tool::bounce_text(bench.target, seen, {.columns = 80, .colour = true}),
               StartsWith("\x1b[1;33mOnly 1 press of 3 seen\x1b[0m. FRONT_BUTTON"));
    CHECK_THAT(bench.text(),
               StartsWith("Only 1 press of 3 seen. FRONT_BUTTON bounces up to 2 ms "));
}

TEST_CASE("nothing pressed at all is told with what to look at", "[bounce]") {
    Bench bench;
    bench.plan.time = 1s;
    bench.start();
    CHECK(bench.until_end().end == BounceEnd::time);
    CHECK_THAT(bench.text(), StartsWith("No press on FRONT_BUTTON. Next: check the wiring"));
}

TEST_CASE("a tap within the quiet time is asked for again, longer", "[bounce]") {
    Bench bench;
    bench.plan.time = 1s;
    bench.start();
    bench.until_asking();
    bench.bounce(false, {30ms});
    bench.until_end();
    CHECK_THAT(bench.text(),
               ContainsSubstring("The level came back once within 50 ms (after 30 ms at most)") &&
                   ContainsSubstring("Next: hold the button for about a second."));
    CHECK_THAT(tool::progress_line(bench.bouncing->seen(), 1), ContainsSubstring("; 1 too quick"));
}

TEST_CASE("an interrupt from the keyboard ends the measurement with what there is", "[bounce]") {
    Bench bench;
    bench.plan.presses = 5;
    bench.start();
    REQUIRE(bench.loop->on_signal([&bench](int number) {
        CHECK(number == SIGINT);
        bench.bouncing->stop(BounceEnd::signal);
    }));
    bench.until_asking();
    bench.press({1ms, 1ms}, {});
    REQUIRE(std::raise(SIGINT) == 0);
    const tool::BounceSeen seen = bench.until_end();
    CHECK(seen.end == BounceEnd::signal);
    CHECK(seen.report.whole() == 1);
    CHECK_THAT(bench.text(), StartsWith("Only 1 press of 5 seen."));
}

TEST_CASE("an episode that would not end is ended, and no debounce is advised", "[bounce]") {
    Bench bench;
    bench.start();
    bench.until_asking();
    auto tick = bench.loop->timer([] {});
    bool high = true;
    const Instant last = bench.loop->now() + tool::Bouncing::longest_episode + 1s;
    while (!bench.bouncing->ended() && bench.loop->now() < last) {
        const Instant due = bench.loop->now() + 20ms;
        tick.arm(due);
        high = !high;
        bench.gpio.edge(bench.button, high, bench.loop->now());
        while (bench.loop->now() < due && !bench.bouncing->ended()) {
            REQUIRE(bench.loop->turn(10s));
        }
    }
    const tool::BounceSeen seen = bench.until_end();
    CHECK(seen.end == BounceEnd::restless);
    CHECK(tool::verdict_of(bench.target, seen) == BounceOutcome::never_rests);
    CHECK_THAT(bench.text(),
               StartsWith("FRONT_BUTTON does not come to rest as a button does") &&
                   !ContainsSubstring("debounce = {"));
}

TEST_CASE("an edge that was lost does not end an episode at a level that is gone", "[bounce]") {
    Bench bench;
    bench.start();
    bench.until_asking();
    bench.bounce(false, {});
    bench.turn_until([&] {
        return bench.bouncing->seen().report.press.times == 0 && bench.button.events.empty();
    });
    bench.button.high = true;  // and no edge tells it
    bench.turn_until([&] { return bench.bouncing->seen().report.lost > 0; });
    CHECK(bench.bouncing->seen().report.press.times == 0);
    CHECK(bench.bouncing->seen().report.back.times == 0);
    bench.press({}, {});
    bench.until_end();
    CHECK_THAT(bench.text(), ContainsSubstring("The kernel dropped 1 "));
}

TEST_CASE("every edge is kept for the recording when it is wanted, as pressed and released",
          "[bounce]") {
    Bench bench;
    bench.plan.record = true;
    bench.start();
    bench.until_asking();
    bench.press({1ms, 1ms}, {});
    bench.until_end();
    const auto& recorded = bench.bouncing->recorded();
    REQUIRE(recorded.size() == 4);
    CHECK(recorded.front().level == Level::active);
    CHECK(recorded.back().level == Level::inactive);
    CHECK(bench.bouncing->span().first <= recorded.front().stamp);
    CHECK(bench.bouncing->span().second >= recorded.back().stamp);
}

TEST_CASE("a line that somebody holds, and a chip that goes, say so", "[bounce]") {
    Bench bench;
    bench.button.user = "tide-gauge";
    const auto refused = bench.ask();
    REQUIRE_FALSE(refused);
    CHECK(refused.error().trouble == Trouble::busy);
    CHECK_THAT(refused.error().text, ContainsSubstring("in use by \"tide-gauge\""));
    bench.button.user.reset();
    bench.start();
    bench.gpio.remove(0);
    bench.turn_until([] { return false; });
    REQUIRE(bench.bouncing->failure());
    CHECK(bench.bouncing->failure()->trouble == Trouble::gone);
}

TEST_CASE("the line is the one that was named, else the configured one", "[bounce]") {
    const FakeGpio gpio;
    tool::BounceOptions options;
    tool::BounceConfig config{"tide.toml", {}};
    config.settings.button = {{"soc-gpio", "FRONT_BUTTON"}, true, lines::Bias::pull_up};
    config.settings.core.stages = {{"off", 3s, core::Action::power_off}};

    const tool::WatchOptions configured = tool::as_watched(options, config);
    CHECK(configured.chip == "soc-gpio");
    CHECK(configured.lines == std::vector<std::string>{"FRONT_BUTTON"});
    CHECK(configured.bias == lines::Bias::pull_up);
    const auto against = tool::line_target(options, config, "FRONT_BUTTON", configured.bias);
    CHECK(against.configured == bounce::Intervals{30ms, 30ms});
    CHECK(against.shortest_hold == 3s);
    CHECK(tool::plan_of(options, against).pressed_low == true);

    options.line = {"expander", "5"};
    const tool::WatchOptions both = tool::as_watched(options, std::nullopt);
    CHECK(both.chip == "expander");
    CHECK(both.lines == std::vector<std::string>{"5"});
    CHECK(both.bias == lines::Bias::as_is);
    CHECK_FALSE(tool::plan_of(options, tool::line_target(options, std::nullopt, "5", both.bias))
                    .pressed_low);

    options.line = {"expander:5"};
    options.bias = lines::Bias::none;
    const tool::WatchOptions one = tool::as_watched(options, config);
    CHECK_FALSE(one.chip);
    CHECK(one.lines == std::vector<std::string>{"expander:5"});
    CHECK(one.bias == lines::Bias::none);
}

TEST_CASE("of a line that the service holds it is said how to measure it, of others who has it",
          "[bounce]") {
    Bench bench;
    tool::WatchOptions watch;
    watch.lines = {"FRONT_BUTTON"};
    const auto chosen = [&] {
        return tool::choose_bounce_line(tool::gather_lines(bench.gpio.places(), ""), watch);
    };
    CHECK(*chosen() == tool::PickedLine{0, 1});
    bench.button.user = gpio::consumer_name;
    const auto held = chosen();
    REQUIRE_FALSE(held);
    CHECK(held.error().status == 1);
    CHECK_THAT(held.error().text,
               ContainsSubstring("is held by the service") &&
                   ContainsSubstring("sudo systemctl stop nightlatch") &&
                   ContainsSubstring("sudo systemctl start nightlatch"));
    bench.button.user = "tide-gauge";
    CHECK_THAT(chosen().error().text, ContainsSubstring("held by tide-gauge"));
    watch.lines = {"BACK_BUTTON"};
    CHECK(chosen().error().status == 2);
}

TEST_CASE("a recording begins released, when presses begin to count", "[bounce]") {
    Bench bench;
    bench.plan.record = true;
    bench.start();
    CHECK(tool::timeline_of(*bench.bouncing).raw.empty());
    bench.until_asking();
    bench.press({1ms, 1ms}, {});
    bench.until_end();
    const wave::Timeline timeline = tool::timeline_of(*bench.bouncing);
    REQUIRE(timeline.raw.size() == 5);
    CHECK(timeline.raw[0] == wave::LevelChange{0ns, Level::inactive});
    CHECK(timeline.raw[1].level == Level::active);
    CHECK(timeline.raw[2].at - timeline.raw[1].at == 1ms);
    CHECK(timeline.raw[4].level == Level::inactive);
    CHECK(timeline.end >= timeline.raw[4].at);

    // What is written down measures the same again.
    const auto read = wave::read_vcd(wave::write_vcd(timeline), "button");
    REQUIRE(read.capture);
    bench.target.pressed_low = false;  // the recording is of pressed and released
    const bounce::BounceReport again = tool::measure_capture(*read.capture, bench.target).report;
    CHECK(again.press.longest == 2ms);
    CHECK(again.press.most_edges == 3);
    CHECK(again.release.clean == 1);
}

TEST_CASE("progress is a line for each press where there is no terminal", "[bounce]") {
    const Desk desk;
    const std::string path = desk.file("said", "");
    Bench bench;
    bench.plan.presses = 2;
    bench.start();
    {
        const std::unique_ptr<std::FILE, int (*)(std::FILE*)> to(std::fopen(path.c_str(), "w"),
                                                                 std::fclose);
        tool::BounceProgress progress(to.get(), bench.target);
        bench.bouncing->on_step([&] { progress.step(*bench.bouncing); });
        bench.until_asking();
        bench.press({}, {});
        bench.press({1ms, 1ms}, {});
        bench.until_end();
        progress.end();
    }
    const std::string said = test::content(path);
    CHECK_THAT(said,
               StartsWith("It rests high, so pressed is low.\nPress your button now, hold it about "
                          "a second, let go; 2 times (Ctrl-C ends).\npress 1: 1 edge; held "));
    CHECK_THAT(said, ContainsSubstring("\npress 2: 3 edges in 2 ms; held "));
    CHECK(said.find('\r') == std::string::npos);
}

TEST_CASE("progress on a terminal is one line that is written anew and fits it", "[bounce]") {
    tool::BounceSeen seen;
    bounce::BounceEpisode episode;
    episode.to = Level::active;
    episode.edges = 999;
    episode.last = Instant(999'999us);
    for (int i = 0; i < 999; ++i) {
        seen.report.press.add(episode);
        seen.report.release.add(episode);
        seen.report.back.add(episode);
    }
    const std::string line = tool::progress_line(seen, 1000);
    CHECK_THAT(line, StartsWith("  999 of 1000   pressing to 1000 ms, letting go to "));
    CHECK(line.size() < 80);
}
