// SPDX-License-Identifier: MIT
// The one stream of what happens: each event once, in order, to every follower, as values.
#include "supervisor/narrate.hpp"
#include "supervisor/status_line.hpp"
#include "support/allocations.hpp"
#include "support/virtual_board.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::supervisor;
using testing::moves;
using testing::pontoon_settings;
using testing::VirtualBoard;
using namespace std::chrono_literals;

namespace {

/// One list for several followers, so that who was told before whom shows.
struct Heard {
    int follower = 0;
    Event event;
};

struct Listener final : Follower {
    Listener(int number, std::vector<Heard>& heard) : number_(number), heard_(heard) {}

    void happened(const Event& event) override { heard_.push_back({number_, event}); }

private:
    int number_;
    std::vector<Heard>& heard_;
};

template <class What>
std::vector<What> all_of(const std::vector<Heard>& heard) {
    std::vector<What> found;
    for (const Heard& one : heard) {
        if (const auto* what = std::get_if<What>(&one.event.what)) {
            found.push_back(*what);
        }
    }
    return found;
}

/// Everything but the trace, by the place of its type in Happening.
std::vector<std::size_t> kinds_of(const std::vector<Heard>& heard) {
    std::vector<std::size_t> kinds;
    for (const Heard& one : heard) {
        if (!std::holds_alternative<Noted>(one.event.what)) {
            kinds.push_back(one.event.what.index());
        }
    }
    return kinds;
}

template <class... What>
std::vector<std::size_t> kinds() {
    return {Happening(std::in_place_type<What>).index()...};
}

std::vector<rehearsal::ScriptEvent> one_press(Duration length) {
    return {moves(1s, Level::active), moves(1s + length, Level::inactive)};
}

}  // namespace

TEST_CASE("what happens from start to stop is told in the order in which it happens") {
    std::vector<Heard> heard;
    Listener listener(0, heard);
    VirtualBoard board(pontoon_settings(), one_press(3200ms), Level::inactive, {{&listener}});
    board.run_to(5s);
    board.answered(core::AnswerKind::accepted);
    board.app.going_down(true, core::GoingDownKind::power_off);
    board.app.stop();
    CHECK(kinds_of(heard) == kinds<Started,
                                   PostHaltLooked,
                                   LineOpened,
                                   CueShown,      // waiting
                                   CueShown,      // rest
                                   CueShown,      // holding
                                   StageReached,  // ready
                                   CueShown,
                                   Decided,
                                   Asked,
                                   CueShown,  // asked
                                   Answered,
                                   GoingDown,
                                   CueShown,  // leaving
                                   LineClosing,
                                   Stopping>());
}

TEST_CASE("every follower is told each event, one after the other in the order of the list") {
    std::vector<Heard> heard;
    Listener first(1, heard);
    Listener second(2, heard);
    VirtualBoard board(pontoon_settings(), one_press(3200ms), Level::inactive, {{&first, &second}});
    board.run_to(10s);
    board.app.stop();
    REQUIRE(heard.size() > 20);
    REQUIRE(heard.size() % 2 == 0);
    for (std::size_t i = 0; i < heard.size(); i += 2) {
        CHECK(heard[i].follower == 1);
        CHECK(heard[i + 1].follower == 2);
        CHECK(heard[i].event.at == heard[i + 1].event.at);
        CHECK(heard[i].event.what.index() == heard[i + 1].event.what.index());
        CHECK(tell(heard[i].event) == tell(heard[i + 1].event));
    }
}

TEST_CASE("a request is told with the press that it came of, after the system has been asked") {
    struct LateListener final : Follower {
        const testing::RecordingPower* power = nullptr;
        std::vector<std::size_t> asked_before;

        void happened(const Event& event) override {
            if (std::holds_alternative<Asked>(event.what)) {
                asked_before.push_back(power->asked.size());
            }
        }
    } late;

    std::vector<Heard> heard;
    Listener listener(0, heard);
    config::Settings settings = pontoon_settings();
    settings.core.grace = 5s;
    VirtualBoard board(settings, one_press(3200ms), Level::inactive, {{&listener, &late}});
    late.power = &board.power;
    board.run_to(20s);
    const auto asked = all_of<Asked>(heard);
    REQUIRE(asked.size() == 1);
    CHECK(asked[0].action == core::Action::power_off);
    CHECK(asked[0].cause == Cause(ByPress{settings.core.stages[0], 3200ms}));
    CHECK(tell(asked[0].cause) == "let go after 3.200 s: stage \"off\", power-off");
    CHECK(late.asked_before == std::vector<std::size_t>{1});
}

TEST_CASE("a stage that is announced is told by its name alone") {
    std::vector<Heard> heard;
    Listener listener(0, heard);
    config::Settings settings = pontoon_settings();
    settings.core.stages = {{"write \"now\"", 1s, core::Action::announce}};
    VirtualBoard board(settings, one_press(1500ms), Level::inactive, {{&listener}});
    board.run_to(5s);
    const auto announced = all_of<Announced>(heard);
    REQUIRE(announced.size() == 1);
    CHECK(announced[0].name == "write \"now\"");
    CHECK(all_of<Asked>(heard).empty());
}

TEST_CASE("a line that is not available is told at each try, and is news once") {
    std::vector<Heard> heard;
    Listener listener(0, heard);
    VirtualBoard board(
        pontoon_settings(),
        {{2s, rehearsal::ChipFault::vanish}, {60s, rehearsal::ChipFault::comes_back}},
        Level::inactive,
        {{&listener}});
    board.run_to(59s);
    const auto lost = all_of<LineLost>(heard);
    REQUIRE(lost.size() > 3);
    CHECK(lost[0].news);
    CHECK(lost[0].where == pontoon_settings().button.where);
    CHECK(all_of<LineClosing>(heard).size() == 1);
    std::vector<std::string> news;
    for (const LineLost& one : lost) {
        if (one.news) {
            news.push_back(one.error.text);
        }
    }
    CHECK(news == std::vector<std::string>{"the simulated chip vanished",
                                           "the simulated chip is not there"});
    board.run_to(70s);
    const auto opened = all_of<LineOpened>(heard);
    REQUIRE(opened.size() == 2);
    CHECK_FALSE(opened[0].after_trouble);
    CHECK(opened[1].after_trouble);
    CHECK(rank({{}, opened[0]})->message == ports::Message::started);
    CHECK(rank({{}, opened[1]})->message == ports::Message::line_back);
}

TEST_CASE("a line is let go only after every follower was told, so a watched descriptor is good") {
    struct CountedLine final : ports::ButtonLine {
        int opened = 0;
        int closed = 0;

        Result<ports::LineFacts> open(const ports::LineRequest& /*request*/) override {
            ++opened;
            return ports::LineFacts{"gpiochip0 [soc-gpio]", 3, "FRONT_BUTTON"};
        }

        void close() noexcept override { ++closed; }

        Result<std::size_t> drain(std::span<ports::LineEvent> /*into*/) override { return 0; }

        Result<Level> level() override { return Level::inactive; }
    } line;

    struct Watch final : Follower {
        const CountedLine& line;
        std::vector<int> opened;
        std::vector<int> closed;

        explicit Watch(const CountedLine& of) : line(of) {}

        void happened(const Event& event) override {
            if (std::holds_alternative<LineOpened>(event.what)) {
                opened.push_back(line.opened);
            } else if (std::holds_alternative<LineClosing>(event.what)) {
                closed.push_back(line.closed);
            }
        }
    } watch(line);

    testing::VirtualClock clock;
    testing::RecordingPower power;
    testing::ToldPostHalt post_halt;
    testing::ScriptedAlarms alarms(clock, {});
    App app(std::make_shared<const config::Settings>(pontoon_settings()),
            {line, power, clock, post_halt, alarms},
            {&watch});
    app.start();
    config::Settings other = pontoon_settings();
    other.button.where.line = "LID_BUTTON";
    app.reload(std::make_shared<const config::Settings>(other));
    app.stop();
    CHECK(watch.opened == std::vector{1, 2});
    CHECK(watch.closed == std::vector{0, 1});
    CHECK(line.closed == 2);
}

TEST_CASE("a status line tells a reload to another line once, and never with the old line's name") {
    std::vector<std::string> told;
    StatusLine status([&](const std::string& text) { told.push_back(text); });
    VirtualBoard board(pontoon_settings(), {}, Level::inactive, {{&status}});
    board.run_to(1s);
    told.clear();
    config::Settings other = pontoon_settings();
    other.button.where.line = "LID_BUTTON";
    board.app.reload(std::make_shared<const config::Settings>(other));
    board.run_to(2s);
    CHECK(told == std::vector<std::string>{
                      "waiting: watching LID_BUTTON on soc-gpio; post-halt line: cannot tell",
                      "rest: watching LID_BUTTON on soc-gpio; post-halt line: cannot tell"});
    CHECK(status.text() == told.back());
}

TEST_CASE("a status line says what is wrong with the file on disk until nothing is") {
    std::vector<std::string> told;
    StatusLine status([&](const std::string& text) { told.push_back(text); });
    status.on_disk("nightlatch.toml:3:1: no stage");  // nothing is told before the first cue
    CHECK(told.empty());
    VirtualBoard board(pontoon_settings(), {}, Level::inactive, {{&status}});
    board.run_to(1s);
    const std::string good = "rest: watching FRONT_BUTTON on soc-gpio; post-halt line: cannot tell";
    CHECK(told.back() == good + "; the configuration on disk cannot be used: "
                                "nightlatch.toml:3:1: no stage");
    status.on_disk("");
    CHECK(told.back() == good);
}

TEST_CASE("edges of which nobody wants to be told cost no allocation") {
    std::vector<rehearsal::ScriptEvent> glitches;
    constexpr unsigned many = 200;  // far enough apart: each is a glitch of its own
    for (unsigned i = 0; i < many; ++i) {
        glitches.push_back(moves(1s + i * 150ms, Level::active));
        glitches.push_back(moves(1s + i * 150ms + 1ms, Level::inactive));
    }
    VirtualBoard board(pontoon_settings(), std::move(glitches), Level::inactive);
    board.run_to(1100ms);  // the first one: the simulated line's queue has its room then
    const std::uint64_t woken = board.wakes;
    const std::size_t before = test::allocations();
    board.run_to(1s + many * 150ms);
    CHECK(test::allocations() == before);
    CHECK(board.wakes - woken >= std::uint64_t{2} * (many - 1));
    CHECK(board.power.asked.empty());
}
