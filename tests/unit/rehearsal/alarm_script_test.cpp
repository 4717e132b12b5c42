// SPDX-License-Identifier: MIT
// Alarm lines in a press script: the battery of the tide gauge.
#include "rehearsal/rehearsal.hpp"
#include "rehearsal/story.hpp"
#include "support/virtual_board.hpp"

#include <algorithm>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace std::chrono_literals;

namespace {

config::Settings with_battery() {
    config::Settings settings = testing::pontoon_settings();
    settings.core.alarms = {{.name = "battery low", .lasting = 10s}};
    settings.alarm_lines = {{{"soc-gpio", "BATTERY_LOW"}, true, lines::Bias::pull_up}};
    return settings;
}

rehearsal::Rehearsal with_alarm(std::string_view text) {
    rehearsal::LoadedScript loaded = rehearsal::load_press_script(text);
    REQUIRE(loaded.script);
    return rehearsal::rehearse({with_battery(), std::move(*loaded.script), false});
}

}  // namespace

TEST_CASE("an alarm's level in a script leads to the request that it would lead to", "[alarm]") {
    const auto run =
        with_alarm("end = \"40 s\"\n[[alarm]]\nname = \"battery low\"\nat = \"5 s\"\n");
    REQUIRE(run.asked.size() == 1);
    CHECK(run.asked[0].at == 15s);
    CHECK(run.asked[0].why == supervisor::Cause(supervisor::ByAlarm{"battery low"}));
    CHECK(rehearsal::story_of(run) ==
          "Never pressed: the alarm \"battery low\" asks for power-off at "
          "15.000 s, which is accepted.");
    const auto brief = with_alarm(
        "end = \"40 s\"\n[[alarm]]\nname = \"battery low\"\nat = \"5 s\"\nfor = \"9 s\"\n");
    CHECK(brief.asked.empty());
}

TEST_CASE("a level at the very start is ignored until the board is switched on again", "[alarm]") {
    const auto ignored =
        with_alarm("end = \"60 s\"\n[[alarm]]\nname = \"battery low\"\nat = \"0 s\"\n"
                   "[[service]]\nat = \"20 s\"\ndoes = \"restart\"\n");
    CHECK(ignored.asked.empty());
    const bool told = std::any_of(ignored.moments.begin(), ignored.moments.end(), [](auto& each) {
        return each.text.find("is ignored until it has been over") != std::string::npos;
    });
    CHECK(told);
}

TEST_CASE("an alarm that the configuration does not have is named, and what was meant", "[alarm]") {
    const auto loaded =
        rehearsal::load_press_script("[[alarm]]\nname = \"batery low\"\nat = \"5 s\"\n");
    REQUIRE(loaded.script);
    const auto unknown = rehearsal::unknown_alarms(*loaded.script, with_battery().core);
    REQUIRE(unknown.size() == 1);
    CHECK(unknown[0].key == "alarm.name");
    CHECK(unknown[0].text.find("did you mean \"battery low\"?") != std::string::npos);
    CHECK(rehearsal::unknown_alarms(*loaded.script, testing::pontoon_settings().core)[0].text ==
          "the configuration has no [[alarm]]");
}
