// SPDX-License-Identifier: MIT
#include "unit/audit/rule_cases.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::audit;
using namespace nightlatch::audit::test;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::StartsWith;

namespace {

void add_key(Facts& facts, std::uint32_t line, std::uint32_t code) {
    add_node(facts, "/keys", {{"compatible", strings({"gpio-keys"})}});
    add_node(facts,
             "/keys/lid",
             {{"gpios", cells({gpio_phandle, line, 1})}, {"linux,code", cells({code})}});
}

PowerKeySource power_key(const char* node) {
    PowerKeySource key;
    key.device = "event0";
    key.name = "board key";
    key.tagged = true;
    key.codes = {116};
    key.node = node;
    return key;
}

void add_power_key(Facts& facts) {
    known(facts.power_keys).push_back(power_key("/pmic-key"));
    known(facts.login).handle_power_key = std::string("poweroff");
}

/// An alarm on the chip's spare line, or where else the configuration says; its line is high.
void add_alarm(Facts& facts, const std::string& line = "SPARE") {
    set_config(facts,
               good_config() +
                   "\n[[alarm]]\nname = \"battery low\"\nchip = \"soc-gpio\"\nline = \"" + line +
                   "\"\nactive = \"low\"\n");
    facts.alarm_levels = std::vector<Known<RestLevel>>{RestLevel{true}};
}

constexpr std::uint32_t spare_line = 7;

// One table of cases. NOLINTNEXTLINE(readability-function-size)
std::vector<BadCase> alarm_cases() {
    return {
        {"line-ambiguous",
         Severity::error,
         "Several lines are named \"LID_LAMP\"",
         [](Facts& facts) {
             add_alarm(facts, "LID_LAMP");
             soc_line(facts, spare_line).name = "LID_LAMP";
         }},
        {"alarm-line",
         Severity::error,
         "The line of the alarm \"battery low\" is not there: gpiochip0 [soc-gpio] has no line",
         [](Facts& facts) { add_alarm(facts, "BATTERY"); }},
        {"alarm-level",
         Severity::warning,
         "The line of the alarm \"battery low\" is low now, the level that is the alarm",
         [](Facts& facts) {
             add_alarm(facts);
             facts.alarm_levels = std::vector<Known<RestLevel>>{RestLevel{false}};
         }},
        {"button-not-post-halt",
         Severity::error,
         "The line of the alarm \"battery low\" is the post-halt line",
         [](Facts& facts) {
             add_alarm(facts);
             set_property(facts, post_halt_node, "gpios", cells({gpio_phandle, spare_line, 0}));
         }},
        {"button-key",
         Severity::error,
         "has the line of the alarm \"battery low\": the key \"lid\" (KEY_POWER)",
         [](Facts& facts) {
             add_alarm(facts);
             add_key(facts, spare_line, 116);
         }},
        {"button-led",
         Severity::error,
         "drives the line of the alarm \"battery low\" as the LED \"mast\"",
         [](Facts& facts) {
             add_alarm(facts);
             add_node(facts, "/leds/mast", {{"gpios", cells({gpio_phandle, spare_line, 0})}});
         }},
        {"button-claimed",
         Severity::error,
         "gives the line of the alarm \"battery low\" away: the property reset-gpios",
         [](Facts& facts) {
             add_alarm(facts);
             add_node(facts, "/modem", {{"reset-gpios", cells({gpio_phandle, spare_line, 0})}});
         }},
        {"button-free",
         Severity::error,
         "Somebody else holds the line of the alarm \"battery low\"",
         [](Facts& facts) {
             add_alarm(facts);
             soc_line(facts, spare_line).used = true;
             soc_line(facts, spare_line).consumer = "sysfs";
         }},
        {"button-function",
         Severity::error,
         "The pin of the line of the alarm \"battery low\" serves another function",
         [](Facts& facts) {
             add_alarm(facts);
             known(facts.pins).pins.at(spare_line).mux_owner = "9050000.spi";
         }},
    };
}

std::vector<BadCase> name_cases() {
    return {
        {"line-ambiguous",
         Severity::error,
         "Several lines are named \"LID_BUTTON\"",
         [](Facts& facts) { soc_line(facts, 7).name = "LID_BUTTON"; }},
        {"line-ambiguous",
         Severity::error,
         "Several chips are labelled \"soc-gpio\"",
         [](Facts& facts) {
             known(facts.chips).back().label = "soc-gpio";
             edit_config(facts,
                         "[post_halt]\nchip = \"soc-gpio\"\nline = \"SUPPLY_RELEASE\"\nactive = "
                         "\"high\"\npulse = \"100 ms\"\n\n[[feedback]]\nled = \"lid\"\nholding = "
                         "\"blink 4 Hz\"\nready = \"on\"\nleaving = \"on\"\n\n[[feedback]]\nchip = "
                         "\"soc-gpio\"\nline = \"BUZZER\"\nrefused = \"pulse 50 ms 50 ms\"\n",
                         "");
         }},
        {"chip-by-number",
         Severity::warning,
         "named by its number",
         [](Facts& facts) { edit_config(facts, "\"soc-gpio\"", "\"/dev/gpiochip0\""); }},
        {"button-line",
         Severity::error,
         "no line named \"HATCH_BUTTON\"",
         [](Facts& facts) { edit_config(facts, "LID_BUTTON", "HATCH_BUTTON"); }},
        {"button-line",
         Severity::error,
         "no line 8",
         [](Facts& facts) { edit_config(facts, "LID_BUTTON", "8"); }},
        {"button-line",
         Severity::error,
         "no chip \"/dev/soc-gpio\" now",
         [](Facts& facts) { edit_config(facts, "\"soc-gpio\"", "\"/dev/soc-gpio\""); }},
    };
}

std::vector<BadCase> claim_cases() {
    return {
        {"button-not-post-halt",
         Severity::error,
         "is the post-halt line",
         [](Facts& facts) {
             set_property(facts, post_halt_node, "gpios", cells({gpio_phandle, button_line, 0}));
         }},
        {"button-key",
         Severity::error,
         "the key \"lid\" (KEY_POWER)",
         [](Facts& facts) { add_key(facts, button_line, 116); }},
        {"button-led",
         Severity::error,
         "the LED \"mast\"",
         [](Facts& facts) {
             add_node(facts, "/leds/mast", {{"gpios", cells({gpio_phandle, button_line, 0})}});
         }},
        {"button-claimed",
         Severity::error,
         "a gpio-hog",
         [](Facts& facts) {
             add_node(facts,
                      "/soc/gpio@9030000/hog",
                      {{"gpio-hog", ""}, {"gpios", cells({button_line, 0})}, {"input", ""}});
         }},
        {"button-claimed",
         Severity::error,
         "the property reset-gpios",
         [](Facts& facts) {
             add_node(facts, "/modem", {{"reset-gpios", cells({gpio_phandle, button_line, 0})}});
         }},
        {"button-free",
         Severity::error,
         "Somebody else holds",
         [](Facts& facts) {
             soc_line(facts, button_line).used = true;
             soc_line(facts, button_line).consumer = "sysfs";
         }},
    };
}

std::vector<BadCase> pin_cases() {
    return {
        {"button-function",
         Severity::error,
         "serves another function",
         [](Facts& facts) {
             known(facts.pins).pins.at(button_line).mux_owner = "9050000.spi";
             known(facts.pins).pins.at(button_line).function = "spi0";
         }},
        {"button-sleeping",
         Severity::note,
         "behind a bus",
         [](Facts& facts) {
             edit_config(facts,
                         "\"soc-gpio\"\nline = \"LID_BUTTON\"",
                         "\"float-expander\"\nline = \"HATCH\"");
         }},
        {"button-rest",
         Severity::warning,
         "reads as pressed now",
         [](Facts& facts) { facts.button_level = RestLevel{false}; }},
        {"button-bias",
         Severity::note,
         "Only the chip's own pull",
         [](Facts& facts) { edit_config(facts, "\"as-is\"", "\"pull-up\""); }},
        {"power-key", Severity::warning, "acts on the power key of \"board key\"", add_power_key},
        {"power-key",
         Severity::note,
         "can suspend or restart",
         [](Facts& facts) {
             add_power_key(facts);
             known(facts.power_keys).front().codes = {142};
         }},
        {"power-key-listener",
         Severity::note,
         "tide-menu (7) has the power key of \"board key\" open",
         [](Facts& facts) {
             known(facts.power_keys).push_back(power_key(""));
             known(facts.power_keys).front().readers =
                 std::vector<std::string>{"systemd-logind (6)", "tide-menu (7)"};
         }},
        {"power-key-listener",
         Severity::note,
         "Nobody listens to the power key",
         [](Facts& facts) {
             known(facts.power_keys).push_back(power_key(""));
             known(facts.power_keys).front().readers = std::vector<std::string>{};
             facts.login = Known<LoginFacts>::missing("the login manager's answers");
             facts.login_unit = LoginUnit::masked;
         }},
    };
}

}  // namespace

std::vector<BadCase> audit::test::button_bad_cases() {
    std::vector<BadCase> all;
    for (const auto& part : {name_cases(), claim_cases(), pin_cases(), alarm_cases()}) {
        all.insert(all.end(), part.begin(), part.end());
    }
    return all;
}

TEST_CASE("each button rule finds its bad case and no other rule of the group does",
          "[audit][button]") {
    check_bad_cases(button_rules(), button_bad_cases());
}

TEST_CASE("a chip that a link leads to is there, and its label is the better name",
          "[audit][button]") {
    Facts facts = good_unit();
    soc_chip(facts).aliases = {"/dev/gpio-front", "/dev/gpiochip4"};
    edit_config(facts, "\"soc-gpio\"", "\"/dev/gpio-front\"");
    CHECK(outcome(of("button-line", facts)) == "pass: gpiochip0 [soc-gpio] line 3 (LID_BUTTON)");
    CHECK_THAT(outcome(of("chip-by-number", facts)), StartsWith("pass"));

    edit_config(facts, "\"soc-gpio\"", "\"gpiochip4\"");
    CHECK(outcome(of("button-line", facts)) == "pass: gpiochip0 [soc-gpio] line 3 (LID_BUTTON)");
    CHECK_THAT(outcome(of("chip-by-number", facts)), ContainsSubstring("named by its number"));
}

TEST_CASE("a label that two chips carry is no better name than the number", "[audit][button]") {
    Facts facts = good_unit();
    known(facts.chips).back().label = "soc-gpio";
    edit_config(facts, "\"soc-gpio\"", "\"gpiochip0\"");
    CHECK_THAT(outcome(of("chip-by-number", facts)), StartsWith("pass"));
}

TEST_CASE("our own service may hold the button's line", "[audit][button]") {
    Facts facts = good_unit();
    soc_line(facts, button_line).used = true;
    soc_line(facts, button_line).consumer = "nightlatch";
    CHECK(outcome(of("button-free", facts)) == "pass: our own service holds it");
}

TEST_CASE("a disabled key, LED or hog claims nothing", "[audit][button]") {
    Facts facts = good_unit();
    add_key(facts, button_line, 116);
    set_property(facts, "/keys", "status", strings({"disabled"}));
    CHECK_THAT(outcome(of("button-key", facts)), StartsWith("pass"));
}

TEST_CASE("the remedy for a key of the firmware's overlay is to take out its line",
          "[audit][button]") {
    Facts facts = good_unit();
    add_key(facts, button_line, 116);
    CHECK_THAT(findings_in(of("button-key", facts)).at(0).remedy,
               ContainsSubstring("target-path = \"/keys/lid\""));
    bootfiles::Intent text;
    text.overlays.push_back(
        {"gpio-shutdown", "", {"config.txt", 12}, bootfiles::Certainty::yes, "", {}});
    facts.boot = std::vector<bootfiles::Intent>{text};
    CHECK(findings_in(of("button-key", facts)).at(0).remedy ==
          "Take line 12 (gpio-shutdown) out of config.txt, and reboot.");
}

TEST_CASE("a power key on the button's own line is spoken of once", "[audit][button]") {
    Facts facts = good_unit();
    add_key(facts, button_line, 116);
    known(facts.login).handle_power_key = std::string("poweroff");
    known(facts.power_keys).push_back(power_key("/keys"));
    CHECK_THAT(outcome(of("button-key", facts)), StartsWith("found: error"));
    CHECK_THAT(outcome(of("power-key", facts)), StartsWith("not applicable"));
}

TEST_CASE("a power key that is not watched, ignored or locked away is not a finding",
          "[audit][button]") {
    Facts facts = good_unit();
    add_power_key(facts);
    SECTION("not tagged for the login manager") {
        known(facts.power_keys).front().tagged = false;
    }
    SECTION("ignored by the login manager") {
        known(facts.login).handle_power_key = std::string("ignore");
    }
    SECTION("suppressed by a lock") {
        known(facts.login).block_inhibited = std::string("sleep:handle-power-key");
    }
    CHECK_THAT(outcome(of("power-key", facts)), StartsWith("pass"));
}

TEST_CASE("what the login manager does at a power key is asked only when there is one",
          "[audit][button]") {
    Facts facts = good_unit();
    facts.login = Known<LoginFacts>::missing("the system bus");
    CHECK_THAT(outcome(of("power-key", facts)), StartsWith("pass"));
    known(facts.power_keys).push_back(power_key(""));
    CHECK_THAT(outcome(of("power-key", facts)), ContainsSubstring("the system bus"));
}

TEST_CASE("the remedy for a power key fits where the key comes from", "[audit][button]") {
    const auto remedy = [](const PowerKeySource& key) {
        Facts facts = good_unit();
        known(facts.login).handle_power_key = std::string("poweroff");
        known(facts.power_keys).push_back(key);
        const std::vector<Finding> found = findings_in(of("power-key", facts));
        REQUIRE(found.size() == 1);
        return found.front().remedy;
    };
    PowerKeySource key = power_key("/other-keys");
    key.driver = "gpio-keys";
    CHECK(kind_of(key) == KeyKind::tree);
    CHECK_THAT(remedy(key), ContainsSubstring("status = \"disabled\" (/other-keys)"));
    key.node.clear();
    key.driver = "tps6521x_pwrbutton";  // linux drivers/input/misc/tps65218-pwrbutton.c
    CHECK(kind_of(key) == KeyKind::power_chip);
    CHECK_THAT(remedy(key), ContainsSubstring("no edit of the device tree removes it"));
    CHECK_THAT(remedy(key), ContainsSubstring("TAG-=\"power-switch\""));
    CHECK_THAT(remedy(key), ContainsSubstring("HandlePowerKey=ignore"));
    key.driver = "hid-generic";
    key.bus = 0x03;  // BUS_USB, BUS_CEC: linux include/uapi/linux/input.h
    CHECK(kind_of(key) == KeyKind::keyboard);
    CHECK_THAT(remedy(key), ContainsSubstring("it has no node in the device tree"));
    key.bus = 0x1E;
    CHECK(kind_of(key) == KeyKind::cec);
    key.bus = 0x19;
    key.remote = true;
    CHECK(kind_of(key) == KeyKind::remote);
}

TEST_CASE("a hostile device's name leaves the udev rule that is to be pasted", "[audit][button]") {
    PowerKeySource key = power_key("");
    key.name = "a\"*|[\\b";
    CHECK_THAT(untag_rule(key), ContainsSubstring("ATTRS{name}==\"a?????b\", TAG-="));
}

TEST_CASE("who listens to each power key is told, and what cannot be told is said",
          "[audit][button]") {
    Facts facts = good_unit();
    CHECK_THAT(outcome(of("power-key-listener", facts)), StartsWith("pass: there is no"));
    known(facts.power_keys).push_back(power_key(""));
    CHECK_THAT(outcome(of("power-key-listener", facts)), StartsWith("cannot tell: who has"));
    known(facts.power_keys).front().readers = std::vector<std::string>{"systemd-logind (6)"};
    CHECK_THAT(outcome(of("power-key-listener", facts)), StartsWith("pass"));
    CHECK(heard_keys(facts).front().heard == "the login manager (HandlePowerKey = ignore)");
    known(facts.power_keys).front().tagged = false;
    CHECK_THAT(heard_keys(facts).front().heard, StartsWith("not the login manager"));
    facts.login = Known<LoginFacts>::missing("the login manager's answers");
    facts.login_unit = LoginUnit::absent;
    CHECK_THAT(heard_keys(facts).front().heard, StartsWith("no login manager"));
    CHECK_THAT(outcome(of("power-key", facts)), StartsWith("not applicable"));
}

TEST_CASE("without root the button's pin function cannot be told", "[audit][button]") {
    Facts facts = good_unit();
    facts.pins = Known<lines::Pins>::missing("the pins (only root may see them)");
    CHECK(outcome(of("button-function", facts)) ==
          "cannot tell: the pins (only root may see them)");
}

TEST_CASE("the level of a line that somebody else holds is not judged", "[audit][button]") {
    Facts facts = good_unit();
    soc_line(facts, button_line).used = true;
    soc_line(facts, button_line).consumer = "sysfs";
    CHECK_THAT(outcome(of("button-rest", facts)), StartsWith("not applicable"));
}

TEST_CASE("an image names the button's line by its name in the tree", "[audit][button]") {
    const Facts facts = as_image(good_unit());
    CHECK_THAT(outcome(of("button-line", facts)), ContainsSubstring("/soc/gpio@9030000 line 3"));
    CHECK_THAT(outcome(of("button-key", facts)), StartsWith("pass"));
    CHECK_THAT(outcome(of("button-free", facts)), StartsWith("cannot tell"));
}

TEST_CASE("a good alarm passes each rule about input lines", "[audit][button]") {
    Facts facts = good_unit();
    add_alarm(facts);
    CHECK(outcome(of("alarm-line", facts)) == "pass: gpiochip0 [soc-gpio] line 7 (SPARE)");
    CHECK(outcome(of("alarm-level", facts)) == "pass: each alarm's line has its other level");
    CHECK(outcome(of("button-led", facts)) ==
          "pass: no LED of the device tree is on the button's line or an alarm's");
    CHECK(outcome(of("button-not-post-halt", facts)) ==
          "pass: no input line is the post-halt line");
    CHECK_THAT(outcome(of("button-free", facts)), StartsWith("pass"));
    CHECK_THAT(outcome(of("button-function", facts)), StartsWith("pass"));
}

TEST_CASE("without an alarm there is no alarm's line to judge", "[audit][button]") {
    const Facts facts = good_unit();
    CHECK(outcome(of("alarm-line", facts)) == "not applicable: no alarm is configured");
    CHECK_THAT(outcome(of("alarm-level", facts)), StartsWith("not applicable"));
}

TEST_CASE("an alarm's line that cannot be placed passes no rule, and hides none of the button's",
          "[audit][button]") {
    Facts facts = good_unit();
    add_alarm(facts, "BATTERY");
    for (const char* id : {"button-not-post-halt", "button-key", "button-led", "button-claimed"}) {
        CHECK_THAT(outcome(of(id, facts)),
                   StartsWith("cannot tell: gpiochip0 [soc-gpio] has no line named"));
    }
    add_key(facts, button_line, 116);
    CHECK_THAT(outcome(of("button-key", facts)), StartsWith("found: error"));
}

TEST_CASE("an image tells where an alarm's line is, and nothing of its level", "[audit][button]") {
    Facts facts = good_unit();
    add_alarm(facts);
    facts = as_image(std::move(facts));
    CHECK_THAT(outcome(of("alarm-line", facts)), ContainsSubstring("/soc/gpio@9030000 line 7"));
    CHECK_THAT(outcome(of("alarm-level", facts)), StartsWith("cannot tell"));
}
