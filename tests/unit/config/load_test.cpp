// SPDX-License-Identifier: MIT
// What is wrong with a configuration is tested file by file in tests/golden/config.
#include "config/load.hpp"
#include "config/to_toml.hpp"

#include <string>

#include <catch2/catch_test_macros.hpp>
#include <catch2/generators/catch_generators.hpp>

using namespace nightlatch;
using namespace nightlatch::config;
using namespace std::chrono_literals;

namespace {

const std::string least = R"([button]
chip = "soc-gpio"
line = "FRONT_BUTTON"
pressed = "low"

[[stage]]
name = "off"
hold = "3 s"
action = "power-off"
)";

const core::Pattern& shown(const Feedback& feedback, core::CueName cue) {
    return feedback.looks.by_cue[static_cast<std::size_t>(cue)];
}

}  // namespace

TEST_CASE("each stage has its look by name, wherever it stands, and one that is not listed is dark",
          "[config]") {
    const Loaded loaded = load(least + R"(
[[stage]]
name = "start again"
hold = "10 s"
action = "reboot"

[[stage]]
name = "write now"
hold = "1 s"
action = "announce"

[[feedback]]
led = "lid"
ready = { off = "on", "write now" = "blink 1 Hz" }

[[feedback]]
led = "door"
ready = "on"
)");
    CHECK(loaded.diagnostics.empty());
    REQUIRE(loaded.settings);
    const core::Pattern on{core::PatternKind::on, 0s, 0s};
    const std::vector<core::Pattern> of_lid{
        {core::PatternKind::blink, 500ms, 500ms}, on, core::Pattern{}};
    for (std::uint32_t stage = 0; stage < 3; ++stage) {
        INFO(loaded.settings->core.stages[stage].name);
        const core::Cue ready{.name = core::CueName::ready, .stage = stage};
        CHECK(core::look_of(loaded.settings->feedback[0].looks, ready) == of_lid[stage]);
        CHECK(core::look_of(loaded.settings->feedback[1].looks, ready) == on);
        const core::Cue holding{.name = core::CueName::holding, .stage = stage};
        CHECK(core::look_of(loaded.settings->feedback[0].looks, holding) == core::Pattern{});
    }
    CHECK(load(to_toml(*loaded.settings)).settings == loaded.settings);
}

TEST_CASE("an empty table of looks leaves every stage dark", "[config]") {
    const Loaded loaded = load(least + "[[feedback]]\nled = \"lid\"\nrest = \"on\"\nready = {}\n");
    REQUIRE(loaded.settings);
    CHECK_FALSE(core::shows(loaded.settings->feedback[0].looks, core::CueName::ready));
    CHECK(load(to_toml(*loaded.settings)).settings == loaded.settings);
}

TEST_CASE("what is left out has its documented default", "[config]") {
    const Loaded loaded = load(least);
    CHECK(loaded.diagnostics.empty());
    REQUIRE(loaded.settings);
    const Settings& settings = *loaded.settings;
    CHECK(settings.button.where == lines::LineName{"soc-gpio", "FRONT_BUTTON"});
    CHECK(settings.button.active_low);
    CHECK(settings.button.bias == lines::Bias::as_is);
    CHECK(settings.core.press_interval == 30ms);
    CHECK(settings.core.release_interval == 30ms);
    CHECK(settings.core.stuck_after == 30s);
    CHECK(settings.core.act_on == core::ActOn::release);
    CHECK(settings.core.threshold_guard == 5ms);
    CHECK(settings.core.stages == std::vector{core::Stage{"off", 3s, core::Action::power_off}});
    CHECK(settings.core.grace == 0s);
    CHECK(settings.core.inhibitors == core::Inhibitors::respect);
    CHECK(settings.core.without_post_halt == core::WithoutPostHalt::warn);
    CHECK(settings.post_halt == PostHalt{});
    CHECK(settings.feedback.empty());
    CHECK(settings.logbook == LogbookSettings{"/var/lib/nightlatch/logbook.jsonl", 400});
}

TEST_CASE("every key reaches the settings", "[config]") {
    const Loaded loaded = load(R"([button]
chip = "/dev/gpiochip0"
line = 17
pressed = "high"
bias = "pull-down"
debounce = { press = "20 ms", release = "160 ms" }
stuck_after = "1 min"
act_on = "threshold"

[[stage]]
name = "again"
hold = "10 s"
action = "reboot"

[leave]
grace = "0 s"
inhibitors = "override"
without_post_halt = "allow"

[post_halt]
chip = "soc-gpio"
line = "SUPPLY_RELEASE"
active = "high"
pulse = "100 ms"

[[feedback]]
led = "front"
rest = "off"
waiting = "blink 0.5 Hz"
holding = "blink 4 Hz"
ready = "on"
countdown = "blink 2 Hz"
leaving = "blink 1 Hz"
refused = "pulse 50 ms 20 ms"
stuck = "blink 8 Hz"
fault = "blink 10 Hz"

[[feedback]]
chip = "soc-gpio"
line = "BUZZER"
active = "low"
refused = "pulse 1 s 0 s"

[logbook]
path = "/data/tide/runs.jsonl"
keep = 1000
)");
    CHECK(loaded.diagnostics.empty());
    REQUIRE(loaded.settings);
    const Settings& settings = *loaded.settings;
    CHECK(settings.button.where == lines::LineName{"/dev/gpiochip0", "17"});
    CHECK_FALSE(settings.button.active_low);
    CHECK(settings.button.bias == lines::Bias::pull_down);
    CHECK(settings.core.press_interval == 20ms);
    CHECK(settings.core.release_interval == 160ms);
    CHECK(settings.core.stuck_after == 1min);
    CHECK(settings.core.act_on == core::ActOn::threshold);
    CHECK(settings.core.stages == std::vector{core::Stage{"again", 10s, core::Action::reboot}});
    CHECK(settings.core.inhibitors == core::Inhibitors::override_them);
    CHECK(settings.core.without_post_halt == core::WithoutPostHalt::allow);
    CHECK(settings.post_halt ==
          PostHalt{lines::LineName{"soc-gpio", "SUPPLY_RELEASE"}, false, 100ms});
    REQUIRE(settings.feedback.size() == 2);
    const Feedback& led = settings.feedback[0];
    CHECK(std::get<LedName>(led.output).name == "front");
    CHECK(shown(led, core::CueName::rest) == core::Pattern{});
    CHECK(shown(led, core::CueName::waiting) == core::Pattern{core::PatternKind::blink, 1s, 1s});
    CHECK(shown(led, core::CueName::ready) == core::Pattern{core::PatternKind::on, {}, {}});
    CHECK(shown(led, core::CueName::refused) ==
          core::Pattern{core::PatternKind::pulse, 50ms, 20ms});
    CHECK(shown(led, core::CueName::fault) == core::Pattern{core::PatternKind::blink, 50ms, 50ms});
    const Feedback& buzzer = settings.feedback[1];
    CHECK(std::get<FeedbackLine>(buzzer.output) ==
          FeedbackLine{lines::LineName{"soc-gpio", "BUZZER"}, true});
    CHECK(shown(buzzer, core::CueName::holding) == core::Pattern{});
    CHECK(settings.logbook == LogbookSettings{"/data/tide/runs.jsonl", 1000});
}

TEST_CASE("where the logbook is can be read from a configuration that is wrong elsewhere",
          "[config]") {
    const std::string section = "[logbook]\npath = \"/data/tide/runs.jsonl\"\n";
    const LogbookSettings there{"/data/tide/runs.jsonl", 400};
    for (const char* elsewhere : {"", "[button]\nchip = 3\n", "[levae]\n", "[alarm]\n"}) {
        const LoadedLogbook loaded = load_logbook(elsewhere + section);
        CHECK(loaded.settings == there);
        CHECK(loaded.diagnostics.empty());
    }
}

TEST_CASE("what is wrong with the section of the logbook is told, and its default taken",
          "[config]") {
    const LoadedLogbook wrong = load_logbook("[logbook]\npath = \"runs.jsonl\"\nkeep = 7\n");
    CHECK(wrong.settings == LogbookSettings{"/var/lib/nightlatch/logbook.jsonl", 7});
    REQUIRE(wrong.diagnostics.size() == 1);
    CHECK(wrong.diagnostics[0].key == "logbook.path");

    const auto key_of = [](const char* text) {
        const LoadedLogbook loaded = load_logbook(text);
        CHECK(loaded.settings == LogbookSettings{});
        return loaded.diagnostics.size() == 1 ? loaded.diagnostics[0].key : "";
    };
    CHECK(key_of("[logbook]\npaht = \"/data/tide/runs.jsonl\"\n") == "logbook.paht");
    CHECK(key_of("[[logbook]]\npath = \"/data/tide/runs.jsonl\"\n") == "logbook");
    CHECK(key_of("[logbook\npath = \"/data/tide/runs.jsonl\"\n") == "syntax");
}

TEST_CASE("stages come in the order of their holds, wherever they stand", "[config]") {
    const Loaded loaded = load(least + R"(
[[stage]]
name = "write now"
hold = "1 s"
action = "announce"
)");
    REQUIRE(loaded.settings);
    REQUIRE(loaded.settings->core.stages.size() == 2);
    CHECK(loaded.settings->core.stages[0].name == "write now");
    CHECK(loaded.settings->core.stages[1].name == "off");
}

TEST_CASE("one of the two debounce intervals leaves the other at its default", "[config]") {
    std::string text = least;
    text.insert(text.find("\n\n[[stage"), "\ndebounce = { release = \"160 ms\" }");
    const Loaded loaded = load(text);
    REQUIRE(loaded.settings);
    CHECK(loaded.settings->core.press_interval == 30ms);
    CHECK(loaded.settings->core.release_interval == 160ms);
}

TEST_CASE("an offset is the same as a number and in digits", "[config]") {
    std::string number = least;
    number.replace(number.find("\"FRONT_BUTTON\""), 14, "7");
    std::string digits = least;
    digits.replace(digits.find("\"FRONT_BUTTON\""), 14, "\"007\"");
    REQUIRE(load(number).settings);
    CHECK(load(number).settings == load(digits).settings);
    CHECK(load(number).settings->button.where.line == "7");
}

TEST_CASE("tables may be written in any of TOML's ways", "[config]") {
    const Loaded loaded =
        load("button.chip = \"soc-gpio\"\nbutton.line = \"FRONT_BUTTON\"\n"
             "button.pressed = \"low\"\n"
             "stage = [{ name = \"off\", hold = \"3 s\", action = \"power-off\" }]\n");
    REQUIRE(loaded.settings);
    CHECK(loaded.settings == load(least).settings);
}

TEST_CASE("a wrong value is reported once, not again by the rules that would use it", "[config]") {
    std::string text = least;
    text.insert(text.find("\n\n[[stage"), "\nstuck_after = \"2\"");
    const Loaded loaded = load(text);
    REQUIRE(loaded.diagnostics.size() == 1);
    CHECK(loaded.diagnostics[0].key == "button.stuck_after");
}

TEST_CASE("warnings and notes do not keep a configuration from being used", "[config]") {
    std::string only_announces = least + "\n[[feedback]]\nled = \"lid\"\n";
    only_announces.replace(only_announces.find("power-off"), 9, "announce");
    const Loaded loaded = load(only_announces);
    CHECK(loaded.settings);
    REQUIRE(loaded.diagnostics.size() == 2);
    CHECK(loaded.diagnostics[0].severity == Severity::note);
    CHECK(loaded.diagnostics[1].severity == Severity::warning);
}

TEST_CASE("a text that is not TOML has one error, at the first such place", "[config]") {
    const Loaded loaded = load(least + "\n[leave\ngrace = \"x\"\n[leave\n");
    CHECK_FALSE(loaded.settings);
    REQUIRE(loaded.diagnostics.size() == 1);
    CHECK(loaded.diagnostics[0].key == "syntax");
    CHECK(loaded.diagnostics[0].place.line == 11);
}

TEST_CASE("a text of nothing but mistakes stays quick to judge", "[config]") {
    std::string stages;
    while (stages.size() < 1'000'000) {
        stages += "[[stage]]\nname = \"off\"\nhold = \"3 s\"\n";
    }
    const Loaded loaded = load(stages);
    CHECK_FALSE(loaded.settings);
    CHECK(loaded.diagnostics.size() < 10);
}

TEST_CASE("of a bad configuration the outputs that can show a fault are found", "[config]") {
    const std::string front = R"([[feedback]]
led = "front"
fault = "blink 4 Hz"
ready = "whatever"

)";
    const std::string buzzer = R"([[feedback]]
chip = "soc-gpio"
line = "BUZZER"
fault = "on"
)";
    const std::string no_output = "[[feedback]]\nled = 7\nfault = \"on\"\n";
    const std::string no_look = "[[feedback]]\nled = \"rear\"\nfault = \"sometimes\"\n";
    const std::string all = front + no_output + no_look + buzzer;
    const std::string text = GENERATE_COPY(all,
                                           "[buton]\n" + all,
                                           least + all,
                                           "pressed = low\n" + all,
                                           "[button\n" + all,
                                           all + "[leave\n",
                                           front + "[[feedback]]\nled = \n" + buzzer,
                                           front + "[leave]\ngrace = 5 s\n  " + buzzer,
                                           front + buzzer + "x");
    INFO(text);
    REQUIRE_FALSE(load(text).settings);
    const std::vector<Feedback> found = load_feedback(text);
    REQUIRE(found.size() >= 1);
    CHECK(std::get<LedName>(found.front().output) == LedName{"front"});
    CHECK(shown(found.front(), core::CueName::fault).kind == core::PatternKind::blink);
    if (!text.ends_with('x')) {  // else the last one is where the error is
        REQUIRE(found.size() == 2);
        CHECK(std::get<FeedbackLine>(found.back().output).where ==
              lines::LineName{"soc-gpio", "BUZZER"});
    }
}

TEST_CASE("a text without a readable output has none that can show a fault", "[config]") {
    const std::string text = GENERATE(as<std::string>{},
                                      "",
                                      "[",
                                      "feedback = 3",
                                      "[[feedback]]",
                                      "[[feedback]]\nled = \"a\"\nready = \"on\"",
                                      "[[feedback]]\nled = \"a\"\nchip = \"b\"",
                                      "[[feedback]]\nled = \"a\nfault = \"on\"");
    CHECK(load_feedback(text).empty());
}
