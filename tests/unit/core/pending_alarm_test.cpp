// SPDX-License-Identifier: MIT
#include "core/core.hpp"

#include <chrono>
#include <memory>
#include <vector>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::core;

namespace {

constexpr Instant at(Duration since) {
    return Instant{} + 100s + since;
}

/// The shell: reads the levels where something is due, then lets the timers run.
void wake(Core& core, Instant now, Level alarm) {
    while (core.next_deadline() <= now) {
        core.feed(LevelRead{now, Level::inactive, button_line});
        core.feed(LevelRead{now, alarm, line_of_alarm(0)});
        core.advance(now);
    }
}

std::vector<Ask> asks_of(Core& core) {
    std::vector<Ask> asks;
    while (const auto action = core.take_action()) {
        if (const auto* ask = std::get_if<Ask>(&*action)) {
            asks.push_back(*ask);
        }
    }
    return asks;
}

}  // namespace

TEST_CASE("an alarm that waited for a shutdown has its whole patience when that has failed",
          "[core][alarm]") {
    auto settings = std::make_shared<Settings>();
    settings->stages = {{"off", 2s, Action::power_off}};
    settings->alarms = {
        {"battery", Action::power_off, Inhibitors::respect, 10s, AtStart::count, {}}};
    Core core(settings);
    core.feed(Resync{at(0s), Level::inactive, ResyncWhy::start, 0, button_line});
    core.feed(Resync{at(0s), Level::inactive, ResyncWhy::start, 0, line_of_alarm(0)});
    wake(core, at(1s), Level::inactive);
    core.feed(GoingDown{at(1s), true});
    core.feed(Sample{at(2s), Level::active, line_of_alarm(0)});
    wake(core, at(50s), Level::active);  // due at 12 s
    CHECK(asks_of(core).empty());

    core.feed(GoingDown{at(60s), false});
    wake(core, at(60s), Level::active);

    const std::vector<Ask> asks = asks_of(core);
    REQUIRE(asks.size() == 1);
    CHECK(asks[0].at == at(60s));
    CHECK(core.may_send(asks[0].number));
}

TEST_CASE("an alarm's line that can be read again is noted once, with how long it could not",
          "[core][alarm]") {
    auto settings = std::make_shared<Settings>();
    settings->stages = {{"off", 2s, Action::power_off}};
    settings->alarms = {{"battery"}};
    Core core(settings);
    const LineIndex line = line_of_alarm(0);
    core.feed(Resync{at(0s), Level::inactive, ResyncWhy::start, 0, button_line});
    core.feed(Resync{at(0s), Level::inactive, ResyncWhy::start, 0, line});
    Instant now = at(1s);
    for (Level level = Level::active; !core.suspects(line); level = !level, now += 20ms) {
        core.feed(Sample{now, level, line});
        REQUIRE(now < at(30s));
    }
    const Instant lost = now - 20ms;
    wake(core, lost + 1s, Level::inactive);  // which asks for it again
    core.feed(LineOpened{lost + 2s, false, line});
    core.feed(Resync{lost + 2s, Level::inactive, ResyncWhy::reopened, 0, line});
    std::vector<Note> told;
    for (const Duration since : {61s, 62s, 200s}) {
        wake(core, lost + since, Level::inactive);
        while (const auto note = core.take_note()) {
            if (note->why == Why::line_readable) {
                told.push_back(*note);
            }
        }
        CHECK(told.size() == (since < 62s ? 0 : 1));
    }
    REQUIRE(told.size() == 1);
    CHECK(told.front().line == line);
    CHECK(told.front().at == lost + 62s);
    CHECK(told.front().length == 2s);
    CHECK_FALSE(core.suspects(line));
}
