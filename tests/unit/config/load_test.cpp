// SPDX-License-Identifier: MIT
// What is wrong with a configuration is tested file by file in tests/golden/config.
#include "config/load.hpp"

#include <string>

#include <catch2/catch_test_macros.hpp>

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
    return feedback.patterns[static_cast<std::size_t>(cue)];
}

}  // namespace

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
    std::string only_announces = least + "\n[logbook]\n";
    only_announces.replace(only_announces.find("power-off"), 9, "announce");
    const Loaded loaded = load(only_announces);
    CHECK(loaded.settings);
    REQUIRE(loaded.diagnostics.size() == 2);
    CHECK(loaded.diagnostics[0].severity == Severity::note);
    CHECK(loaded.diagnostics[1].severity == Severity::warning);
}

TEST_CASE("a text that is no TOML has one error, at the first such place", "[config]") {
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
