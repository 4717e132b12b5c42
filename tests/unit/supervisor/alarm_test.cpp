// SPDX-License-Identifier: MIT
// Alarm lines beside the button, in virtual time: a battery of the tide gauge on its pontoon.
#include "support/virtual_board.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::testing;

namespace {

using Events = std::vector<rehearsal::ScriptEvent>;

config::Settings with_battery(core::AtStart at_start = core::AtStart::ignore,
                              std::optional<Duration> repeat = std::nullopt) {
    config::Settings settings = pontoon_settings();
    settings.core.alarms = {{.name = "battery low",
                             .inhibitors = core::Inhibitors::override_them,
                             .lasting = 10s,
                             .at_start = at_start,
                             .repeat = repeat}};
    settings.alarm_lines = {{{"soc-gpio", "BATTERY_LOW"}, true, lines::Bias::pull_up}};
    return settings;
}

/// A board whose battery line plays these events.
struct Pontoon {
    Pontoon(const config::Settings& settings,
            Events battery,
            Events button = {},
            Level battery_at_start = Level::inactive,
            std::vector<core::KnownAlarm> known = {})
        : board(settings,
                std::move(button),
                Level::inactive,
                {{&kept}, false, {{battery_at_start, std::move(battery), 0s}}, std::move(known)}) {}

    struct Kept final : supervisor::Follower {
        std::vector<core::KnownAlarm> alarms;

        void happened(const supervisor::Event& event) override {
            if (const auto* one = std::get_if<supervisor::AlarmKept>(&event.what)) {
                alarms.push_back(one->alarm);
            }
        }
    } kept;

    VirtualBoard board;
};

Events one_hold(Duration at, Duration length) {
    return {moves(at, Level::active), moves(at + length, Level::inactive)};
}

}  // namespace

TEST_CASE("an alarm whose level has lasted asks once, past locks if it is to") {
    Pontoon pontoon(with_battery(), {moves(5s, Level::active)});
    VirtualBoard& board = pontoon.board;
    board.run_to(14999ms);
    CHECK(board.power.asked.empty());
    board.run_to(15s);
    CHECK(board.power.asked == std::vector{core::Action::power_off});
    CHECK(board.power.inhibitors == std::vector{core::Inhibitors::override_them});
    board.answered(core::AnswerKind::refused, "the policy forbids it");
    board.run_to(3600s);
    CHECK(board.power.asked.size() == 1);
    CHECK(board.journal.count("alarm \"battery low\"") == 1);
}

TEST_CASE("a level that does not last is not an alarm, and drop-outs add up as a press's do") {
    Events flicker;
    for (Duration at = 5s; at < 60s; at += 9s) {
        flicker.push_back(moves(at, Level::active));
        flicker.push_back(moves(at + 8s, Level::inactive));
    }
    Pontoon pontoon(with_battery(), flicker);
    pontoon.board.run_to(120s);
    CHECK(pontoon.board.power.asked.empty());
    Events dropping{moves(5s, Level::active)};
    for (Duration at = 6s; at < 60s; at += 1s) {  // 20 ms each: the second makes it begin anew
        dropping.push_back(moves(at, Level::inactive));
        dropping.push_back(moves(at + 20ms, Level::active));
    }
    Pontoon dropped(with_battery(), dropping);
    dropped.board.run_to(60s);
    CHECK(dropped.board.power.asked.empty());
    dropped.board.run_to(80s);
    CHECK(dropped.board.power.asked.size() == 1);
}

TEST_CASE("an alarm comes due anew only after its other level has lasted as long") {
    const Events recovering{moves(5s, Level::active),
                            moves(20s, Level::inactive),
                            moves(29s, Level::active),
                            moves(60s, Level::inactive),
                            moves(71s, Level::active)};
    Pontoon pontoon(with_battery(), recovering);
    VirtualBoard& board = pontoon.board;
    board.run_to(15s);
    board.answered(core::AnswerKind::refused);
    board.run_to(69s);
    CHECK(board.power.asked.size() == 1);
    CHECK_FALSE(board.journal.has("is over"));
    board.run_to(70s);
    CHECK(board.journal.has("alarm \"battery low\" is over"));
    board.run_to(90s);
    CHECK(board.power.asked.size() == 2);
}

TEST_CASE("after a refusal an alarm asks again by its repeat, and only while its level is there") {
    const Events battery{
        moves(5s, Level::active), moves(70s, Level::inactive), moves(78s, Level::active)};
    Pontoon pontoon(with_battery(core::AtStart::ignore, 60s), battery);
    VirtualBoard& board = pontoon.board;
    board.run_to(16s);
    board.answered(core::AnswerKind::refused, "calibration");
    board.run_to(75999ms);
    CHECK(board.power.asked.size() == 1);
    board.run_to(77s);
    CHECK(board.power.asked.size() == 1);  // not while it reads the other level
    board.run_to(79s);
    CHECK(board.power.asked.size() == 2);
    CHECK(board.journal.has("asks again"));
}

TEST_CASE("a level that is there at the first start in a boot is ignored until it has been over") {
    Pontoon first(with_battery(), {}, {}, Level::active);
    first.board.run_to(100s);
    CHECK(first.board.power.asked.empty());
    CHECK(first.kept.alarms == std::vector<core::KnownAlarm>{{"battery low", true}});
    first.board.reload(with_battery());
    first.board.app.resumed();
    first.board.run_to(200s);
    CHECK(first.board.power.asked.empty());
    Pontoon again(with_battery(),
                  {moves(50s, Level::inactive), moves(70s, Level::active)},
                  {},
                  Level::active,
                  {{"battery low", true}});
    again.board.run_to(79s);
    CHECK(again.board.power.asked.empty());
    CHECK(again.kept.alarms == std::vector<core::KnownAlarm>{{"battery low", false}});
    again.board.run_to(81s);
    CHECK(again.board.power.asked.size() == 1);
}

TEST_CASE("a level at the first start counts where it is to, and after a restart in any case") {
    Pontoon counted(with_battery(core::AtStart::count), {}, {}, Level::active);
    counted.board.run_to(11s);
    CHECK(counted.board.power.asked.size() == 1);
    Pontoon restarted(with_battery(), {}, {}, Level::active, {{"battery low", false}});
    restarted.board.run_to(9s);
    CHECK(restarted.board.power.asked.empty());
    restarted.board.run_to(11s);
    CHECK(restarted.board.power.asked.size() == 1);
}

TEST_CASE("an alarm that comes due while a request is under way asks when that has failed") {
    Pontoon pontoon(with_battery(), {moves(5s, Level::active)}, one_hold(2s, 3500ms));
    VirtualBoard& board = pontoon.board;
    board.run_to(16s);
    CHECK(board.power.asked.size() == 1);
    CHECK(board.journal.has("waits for what is under way"));
    board.answered(core::AnswerKind::refused, "calibration");
    CHECK(board.power.asked.size() == 2);
    CHECK(board.power.inhibitors.back() == core::Inhibitors::override_them);
}

TEST_CASE("an alarm needs no countdown, and ends one; a press that is down is spent") {
    config::Settings settings = with_battery();
    settings.core.grace = 8s;
    Pontoon counting(settings, {moves(2s, Level::active)}, one_hold(5s, 3500ms));
    counting.board.run_to(13s);
    CHECK(counting.board.power.asked.size() == 1);  // at 12 s; the countdown would end at 16.5 s
    counting.board.run_to(30s);
    CHECK(counting.board.power.asked.size() == 1);
    Pontoon held(with_battery(), {moves(2s, Level::active)}, one_hold(10s, 4s));
    held.board.run_to(30s);
    CHECK(held.board.power.asked.size() == 1);
}

TEST_CASE("an alarm line that vanishes or cannot be read changes nothing of the button") {
    Events battery{{3s, rehearsal::ChipFault::vanish}};
    Pontoon pontoon(with_battery(), battery, one_hold(10s, 3500ms));
    pontoon.board.run_to(5s);
    CHECK(pontoon.board.app.cue().name == core::CueName::rest);
    CHECK(pontoon.board.journal.has("vanished"));
    pontoon.board.run_to(20s);
    CHECK(pontoon.board.power.asked.size() == 1);
    Events hum;
    for (Duration at = 1s; at < 30s; at += 10ms) {
        hum.push_back(moves(at, (at / 10ms) % 2 == 0 ? Level::active : Level::inactive));
    }
    Pontoon humming(with_battery(), hum, one_hold(13s, 3500ms));
    humming.board.run_to(40s);
    CHECK(humming.board.power.asked.size() == 1);
    CHECK(humming.board.journal.count("BATTERY_LOW on soc-gpio cannot be read") == 1);
    humming.board.run_to(3min);
    CHECK(humming.board.journal.count("BATTERY_LOW on soc-gpio can be read again") == 1);
    CHECK(humming.board.journal.count("watching line") == 2);  // the button's, and this at start
}

TEST_CASE("a failed read of an alarm's line holds back that alarm alone") {
    Pontoon pontoon(with_battery(), {moves(5s, Level::active)}, one_hold(11s, 3500ms));
    VirtualBoard& board = pontoon.board;
    board.alarms.faulty[0]->unreadable_from = board.line.start() + 14s;
    board.alarms.faulty[0]->unreadable_until = board.line.start() + 15020ms;
    board.run_to(14999ms);
    CHECK(board.power.asked.size() == 1);  // the button's, at 14.53 s
    board.answered(core::AnswerKind::refused);
    board.run_to(15010ms);
    CHECK(board.power.asked.size() == 1);
    board.run_to(15100ms);
    CHECK(board.power.asked.size() == 2);
}

TEST_CASE("an alarm that announces is told by its name, and asks for nothing") {
    config::Settings settings = with_battery();
    settings.core.alarms[0].action = core::Action::announce;
    Pontoon pontoon(settings, {moves(5s, Level::active)});
    pontoon.board.run_to(60s);
    CHECK(pontoon.board.power.asked.empty());
    CHECK(pontoon.board.app.cue().name == core::CueName::rest);
    CHECK(pontoon.board.journal.has("announcing \"battery low\""));
}

TEST_CASE("a resume starts a level that still lasts again, and a due alarm stays due") {
    Pontoon pontoon(with_battery(core::AtStart::ignore, 60s), {moves(5s, Level::active)});
    VirtualBoard& board = pontoon.board;
    board.run_to(12s);
    board.app.resumed();
    board.run_to(21s);
    CHECK(board.power.asked.empty());
    board.run_to(23s);
    CHECK(board.power.asked.size() == 1);
    board.answered(core::AnswerKind::refused);
    board.app.resumed();
    board.run_to(60s);
    board.app.resumed();
    board.run_to(90s);
    CHECK(board.power.asked.size() == 2);
}
