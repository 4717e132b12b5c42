// SPDX-License-Identifier: MIT
// The service's own wiring in virtual time. Whole accounts are tested in tests/golden/rehearse.
#include "rehearsal/built_in_presses.hpp"
#include "rehearsal/expectations.hpp"
#include "rehearsal/rehearsal.hpp"
#include "rehearsal/story.hpp"
#include "support/virtual_board.hpp"

#include <algorithm>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::rehearsal;
using namespace std::chrono_literals;
using core::CueName;
using testing::pontoon_settings;

namespace {

rehearsal::PressScript script_of(std::string_view text) {
    rehearsal::LoadedScript loaded = rehearsal::load_press_script(text);
    for (const config::Diagnostic& one : loaded.diagnostics) {
        UNSCOPED_INFO(config::to_text(one, "script"));
    }
    REQUIRE(loaded.script);
    return *loaded.script;
}

Rehearsal played(std::string_view text, config::Settings settings = pontoon_settings()) {
    return rehearse({std::move(settings), script_of(text), false});
}

std::vector<CueName> cues_of(const Rehearsal& rehearsal) {
    std::vector<CueName> cues;
    for (const core::Cue& cue : rehearsal.cues) {
        cues.push_back(cue.name);
    }
    return cues;
}

bool tells(const Rehearsal& rehearsal, Whose whose, const std::string& part) {
    return std::any_of(
        rehearsal.moments.begin(), rehearsal.moments.end(), [&](const Moment& moment) {
            return moment.whose == whose && moment.text.find(part) != std::string::npos;
        });
}

constexpr const char* one_hold = "[[press]]\nat = \"1 s\"\nfor = \"3.2 s\"\n";

}  // namespace

TEST_CASE("a rehearsed hold is asked for once, accepted, and leads to the shutdown") {
    const Rehearsal run = played(one_hold);
    REQUIRE(run.asked.size() == 1);
    CHECK(run.asked[0].at == 4230ms);  // the release, settled
    CHECK(run.asked[0].action == core::Action::power_off);
    CHECK(run.asked[0].outcome == AskedOutcome::accepted);
    CHECK(run.asked[0].why ==
          supervisor::Cause(supervisor::ByPress{{"off", 3s, core::Action::power_off}, 3200ms}));
    CHECK(cues_of(run) == std::vector{CueName::waiting,
                                      CueName::rest,
                                      CueName::holding,
                                      CueName::ready,
                                      CueName::leaving,
                                      CueName::leaving});
    CHECK(tells(run, Whose::info, "the system is going down"));
    CHECK(run.timeline.end == 9200ms);
}

TEST_CASE("the lanes of a rehearsal have the press as it was made and as it was debounced") {
    const Rehearsal run =
        played("[[press]]\nat = \"1 s\"\nfor = \"3.2 s\"\n"
               "bounce = { press = [\"2 ms\", \"1 ms\"], release = \"1 x 1 ms\" }");
    const wave::Timeline& lanes = run.timeline;
    CHECK(lanes.raw == std::vector<wave::LevelChange>{{0s, Level::inactive},
                                                      {1s, Level::active},
                                                      {1002ms, Level::inactive},
                                                      {1003ms, Level::active},
                                                      {4200ms, Level::inactive},
                                                      {4201ms, Level::active},
                                                      {4202ms, Level::inactive}});
    CHECK(lanes.settled == std::vector<wave::LevelChange>{{0s, std::nullopt},
                                                          {30ms, Level::inactive},
                                                          {1033ms, Level::active},
                                                          {4232ms, Level::inactive}});
    // From the last edge of the press to the first of the release: never overstated.
    CHECK(lanes.holds == std::vector<wave::Hold>{{1003ms, 4200ms}});
    CHECK(lanes.thresholds == std::vector<wave::Threshold>{{"off", 3s, "power-off"}});
}

TEST_CASE("the cue at a moment is the one that began last") {
    const Rehearsal run = played(one_hold);
    CHECK(cue_at(run, 500ms) == CueName::rest);
    CHECK(cue_at(run, 1029ms) == CueName::rest);
    CHECK(cue_at(run, 1030ms) == CueName::holding);
    CHECK(cue_at(run, 4s) == CueName::ready);
    CHECK(cue_at(run, 9s) == CueName::leaving);
}

TEST_CASE("a login manager that refuses is told with its reason, and the button works again") {
    const Rehearsal run =
        played("[[login_manager]]\nat = \"0 s\"\nanswer = \"refuse\"\n"
               "reason = \"the logger rewrites its calibration\"\n" +
               std::string(one_hold) + "[[press]]\nat = \"12 s\"\nfor = \"3.2 s\"\n");
    REQUIRE(run.asked.size() == 2);
    CHECK(run.asked[0].outcome == AskedOutcome::refused);
    CHECK(run.asked[1].at == 15230ms);
    CHECK(tells(run, Whose::warning, "the logger rewrites its calibration"));
}

TEST_CASE("without an answer the request is unanswered after half a minute, and not repeated") {
    const Rehearsal run =
        played("end = \"60 s\"\n[[login_manager]]\nat = \"0 s\"\nanswer = \"none\"\n" +
               std::string(one_hold) + "[[press]]\nat = \"40 s\"\nfor = \"3.2 s\"\n");
    REQUIRE(run.asked.size() == 1);
    CHECK(run.asked[0].outcome == AskedOutcome::unanswered);
    CHECK(run.cues.back().state == core::State::unanswered);
}

TEST_CASE("a login manager that vanishes with our request and returns has failed it") {
    const Rehearsal run =
        played("[[login_manager]]\nat = \"0 s\"\nanswer = \"accept\"\nafter = \"1 s\"\n"
               "[[login_manager]]\nat = \"4.5 s\"\ndoes = \"vanish\"\n"
               "[[login_manager]]\nat = \"6 s\"\ndoes = \"return\"\n" +
               std::string(one_hold));
    REQUIRE(run.asked.size() == 1);
    CHECK(run.asked[0].outcome == AskedOutcome::refused);
    CHECK(cue_at(run, 6s) == CueName::refused);
}

TEST_CASE(
    "somebody else's shutdown waits for the finger, and its being given up frees the button") {
    const Rehearsal run = played("end = \"12 s\"\n"
                                 "[[press]]\nat = \"1 s\"\nfor = \"2 s\"\n"
                                 "[[login_manager]]\nat = \"2 s\"\ndoes = \"power-off\"\n"
                                 "[[login_manager]]\nat = \"6 s\"\ndoes = \"call-off\"\n");
    CHECK(run.asked.empty());
    CHECK(cue_at(run, 2s) == CueName::leaving);
    const auto let_go =
        std::find_if(run.moments.begin(), run.moments.end(), [](const Moment& moment) {
            return moment.whose == Whose::login &&
                   moment.text.find("released") != std::string::npos;
        });
    REQUIRE(let_go != run.moments.end());
    CHECK(let_go->at == 3030ms);  // the settled release, not the announcement at 2 s
    CHECK(cue_at(run, 11s) == CueName::rest);
}

TEST_CASE("a service that starts again in the middle of a hold takes no press from it") {
    const Rehearsal run =
        played("[[service]]\nat = \"2 s\"\ndoes = \"restart\"\n" + std::string(one_hold));
    CHECK(run.asked.empty());
    CHECK(cue_at(run, 3s) == CueName::waiting);
    CHECK(tells(run, Whose::service, "starts again"));
}

TEST_CASE("a service that starts again while a shutdown is under way leaves with it") {
    const Rehearsal run =
        played("end = \"10 s\"\n[[login_manager]]\nat = \"1 s\"\ndoes = \"reboot\"\n"
               "[[service]]\nat = \"2 s\"\ndoes = \"restart\"\n");
    CHECK(cue_at(run, 9s) == CueName::leaving);
}

TEST_CASE("a reload in the middle of a hold takes no press from it") {
    const Rehearsal run =
        played("[[service]]\nat = \"2 s\"\ndoes = \"reload\"\n" + std::string(one_hold));
    CHECK(run.asked.empty());
}

TEST_CASE("after a boot the finger that switched the board on is not a press") {
    const Rehearsal run = played("level_at_start = \"pressed\"\nreleased_at = \"4 s\"\nrepeat = 3\n"
                                 "[[press]]\nat = \"6 s\"\nfor = \"3.2 s\"\n");
    REQUIRE(run.asked.size() == 3);
    CHECK(run.asked[2].at == run.asked[0].at + 2 * 14200ms);
    CHECK(run.timeline.holds.size() == 3);
}

TEST_CASE("a verdict that the script states has the consequence that the configuration wants") {
    config::Settings settings = pontoon_settings();
    settings.core.without_post_halt = core::WithoutPostHalt::refuse;
    const Rehearsal run = played("post_halt = \"absent\"\n" + std::string(one_hold), settings);
    CHECK(run.asked.empty());
    CHECK(cue_at(run, 5s) == CueName::refused);
}

TEST_CASE("the same script gives the same account, to the last word") {
    const std::string text = "[[fault]]\nat = \"1.5 s\"\nkind = \"vanish\"\n"
                             "[[fault]]\nat = \"6 s\"\nkind = \"return\"\n" +
                             std::string(one_hold) + "[[press]]\nat = \"9 s\"\nfor = \"5 s\"\n";
    const Rehearsal one = played(text);
    const Rehearsal other = played(text);
    CHECK(one.moments == other.moments);
    CHECK(one.timeline == other.timeline);
    CHECK(one.turns == other.turns);
}

TEST_CASE("with details a rehearsal tells what the journal would not") {
    const rehearsal::PressScript script = script_of(one_hold);
    const Rehearsal plain = rehearse({pontoon_settings(), script, false});
    const Rehearsal whole = rehearse({pontoon_settings(), script, true});
    CHECK_FALSE(tells(plain, Whose::detail, "pressed"));
    CHECK(tells(whole, Whose::detail, "pressed"));
    CHECK(plain.timeline.cues == whole.timeline.cues);
}

TEST_CASE("what a rehearsal would expect of itself is met, whatever the stages are called") {
    config::Settings settings = pontoon_settings();
    settings.core.stages.front() = {R"(write "now" to C:\u0041)", 3s, core::Action::announce};
    const Rehearsal run = played(one_hold, settings);
    REQUIRE(run.announced.size() == 1);
    const PressScript again = script_of(one_hold + expectations_of(run));
    for (const Checked& one : check_expectations(again.expectations, run)) {
        INFO(one.expected);
        CHECK(one.met);
    }
}

TEST_CASE("the built-in presses try each stage once, and a near miss, on any configuration") {
    config::Settings settings = pontoon_settings();
    settings.core.stages = {{"write now", 1s, core::Action::announce},
                            {"off", 3s, core::Action::power_off},
                            {"start again", 10s, core::Action::reboot}};
    settings.core.grace = 5s;
    const Rehearsal run = rehearse({settings, rehearsal::built_in_presses(settings), false});
    REQUIRE(run.asked.size() == 2);
    CHECK(run.asked[0].action == core::Action::power_off);
    CHECK(run.asked[1].action == core::Action::reboot);
    REQUIRE(run.announced.size() == 1);
    CHECK(run.announced[0].name == "write now");
    CHECK(tells(run, Whose::decision, "nothing happens"));
    CHECK(tells(run, Whose::info, "called off"));
    CHECK(tells(run, Whose::warning, "too long for a press"));
}

TEST_CASE("the built-in presses on one short stage") {
    config::Settings settings = pontoon_settings();
    settings.core.stages = {{"off", 100ms, core::Action::power_off}};
    const Rehearsal run = rehearse({settings, rehearsal::built_in_presses(settings), false});
    CHECK(run.asked.size() == 1);
}

TEST_CASE("the lanes of a rehearsal have the stage of each ready, and what lamp and buzzer do") {
    config::Settings settings = pontoon_settings();
    settings.core.stages = {{"write now", 1s, core::Action::announce},
                            {"off", 3s, core::Action::power_off}};
    const auto at = [](CueName cue) { return static_cast<std::size_t>(cue); };
    const core::Pattern blink{core::PatternKind::blink, 125ms, 125ms};
    const core::Pattern beep{core::PatternKind::pulse, 100ms, 0s};
    config::Feedback lamp{config::LedName{"lid"}, {}};
    lamp.looks.by_cue[at(CueName::holding)] = blink;
    lamp.looks.ready_by_stage = {blink, {core::PatternKind::on}};
    config::Feedback buzzer{config::FeedbackLine{{"soc-gpio", "BUZZER"}}, {}};
    buzzer.looks.by_cue[at(CueName::ready)] = beep;
    settings.feedback = {lamp, buzzer};
    const wave::Timeline lanes = played(one_hold, settings).timeline;
    std::vector<std::string> stages;
    for (const wave::CueChange& cue : lanes.cues) {
        if (cue.cue == "ready") {
            stages.push_back(cue.stage);
        } else {
            CHECK(cue.stage.empty());
        }
    }
    CHECK(stages == std::vector<std::string>{"write now", "off"});
    REQUIRE(lanes.outputs.size() == 2);
    // A blink that goes on keeps its rhythm [nightlatch.toml(5)]: no change when "write now" comes.
    CHECK(lanes.outputs[0] == wave::Output{"lid",
                                           "lamp",
                                           {{1030ms, "blink 4 Hz", 125ms, 125ms, true},
                                            {4s, "on", Duration::max()},
                                            {4230ms, "off"}}});
    // A beep at each stage: so they can be counted.
    CHECK(lanes.outputs[1] ==
          wave::Output{
              "BUZZER",
              "line",
              {{2s, "pulse 100 ms 0 s", 100ms}, {4s, "pulse 100 ms 0 s", 100ms}, {4230ms, "off"}}});
}

TEST_CASE("a chip that comes back is no trouble, one that vanishes is") {
    const Rehearsal run = played("[[fault]]\nat = \"1 s\"\nkind = \"vanish\"\n"
                                 "[[fault]]\nat = \"5 s\"\nkind = \"return\"\n");
    const auto kind_of = [&](const std::string& text) {
        const auto found = std::find_if(run.timeline.marks.begin(),
                                        run.timeline.marks.end(),
                                        [&](const auto& one) { return one.text == text; });
        REQUIRE(found != run.timeline.marks.end());
        return found->kind;
    };
    CHECK(kind_of("the chip vanishes") == wave::MarkKind::trouble);
    CHECK(kind_of("the chip comes back") == wave::MarkKind::info);
}

TEST_CASE("the story of a rehearsal is one sentence") {
    CHECK(story_of(played(one_hold)) ==
          "Pressed once: power-off is asked for at 4.230 s and accepted.");
    CHECK(story_of(played("end = \"5 s\"\n")) == "Never pressed: nothing is asked of the system.");
    CHECK(story_of(played("[[login_manager]]\nat = \"0 s\"\nanswer = \"refuse\"\n" +
                          std::string(one_hold) + "[[press]]\nat = \"12 s\"\nfor = \"3.2 s\"\n")) ==
          "Pressed twice: the system is asked twice, first for power-off at 4.230 s, which is "
          "refused.");
    config::Settings settings = pontoon_settings();
    settings.core.stages = {{"write now", 1s, core::Action::announce},
                            {"off", 3s, core::Action::power_off}};
    CHECK(story_of(played("[[press]]\nat = \"1 s\"\nfor = \"1.5 s\"\n"
                          "[[press]]\nat = \"5 s\"\nfor = \"3.2 s\"\n",
                          settings)) ==
          "Pressed twice: \"write now\" is announced, and power-off is asked for at 8.230 s and "
          "accepted.");
    settings.core.stages = {{"write now", 1s, core::Action::announce}};
    CHECK(story_of(played("[[press]]\nat = \"1 s\"\nfor = \"1.5 s\"\n", settings)) ==
          "Pressed once: \"write now\" is announced, and nothing is asked of the system.");
}
