// SPDX-License-Identifier: MIT
#include "unit/audit/rule_cases.hpp"

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::audit;
using namespace nightlatch::audit::test;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::StartsWith;

std::vector<BadCase> audit::test::cue_bad_cases() {
    return {
        {"led-there",
         Severity::error,
         "no LED \"lids\"",
         [](Facts& facts) { edit_config(facts, "led = \"lid\"", "led = \"lids\""); }},
        {"led-writable",
         Severity::error,
         "may not write",
         [](Facts& facts) { known(facts.leds).front().writable_by_service = false; }},
        {"led-retain",
         Severity::note,
         "switches this LED off",
         [](Facts& facts) { remove_property(facts, lamp_node, "retain-state-shutdown"); }},
        {"cue-line",
         Severity::error,
         "it is the button's line",
         [](Facts& facts) {
             edit_config(facts,
                         "chip = \"soc-gpio\"\nline = \"BUZZER\"",
                         "chip = \"gpiochip0\"\nline = \"3\"");
         }},
        {"cue-line",
         Severity::error,
         "no line named \"HORN\"",
         [](Facts& facts) { edit_config(facts, "BUZZER", "HORN"); }},
        {"cue-line",
         Severity::error,
         "the kernel calls its holder \"gauge\"",
         [](Facts& facts) {
             soc_line(facts, buzzer_line).used = true;
             soc_line(facts, buzzer_line).consumer = "gauge";
         }},
    };
}

TEST_CASE("each cue rule finds its bad case and no other rule of the group does", "[audit][cues]") {
    check_bad_cases(cue_rules(), cue_bad_cases());
}

TEST_CASE("the remedy for a misspelt LED is the name that was meant", "[audit][cues]") {
    Facts facts = good_unit();
    edit_config(facts, "led = \"lid\"", "led = \"lids\"");
    CHECK(findings_in(of("led-there", facts)).at(0).remedy == "led = \"lid\"");
}

TEST_CASE("an LED without a leaving cue need not stay", "[audit][cues]") {
    Facts facts = good_unit();
    remove_property(facts, lamp_node, "retain-state-shutdown");
    edit_config(facts, "leaving = \"on\"\n", "");
    CHECK_THAT(outcome(of("led-retain", facts)), StartsWith("not applicable"));
}

TEST_CASE("without outputs no cue rule applies", "[audit][cues]") {
    Facts facts = good_unit();
    set_config(facts, good_config().substr(0, good_config().find("[[feedback]]")));
    for (const RuleResult& result : judged(cue_rules(), facts)) {
        INFO(result.rule->id);
        CHECK_THAT(outcome(result.judgement), StartsWith("not applicable"));
    }
}

TEST_CASE("LEDs that cannot be seen cannot be told", "[audit][cues]") {
    Facts facts = good_unit();
    facts.leds = Known<std::vector<LedFacts>>::missing("/sys/class/leds");
    CHECK(outcome(of("led-there", facts)) == "cannot tell: /sys/class/leds");
    CHECK(outcome(of("led-writable", facts)) == "cannot tell: /sys/class/leds");
    CHECK_THAT(outcome(of("led-retain", facts)), StartsWith("pass"));
}
