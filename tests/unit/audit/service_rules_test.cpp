// SPDX-License-Identifier: MIT
#include "unit/audit/rule_cases.hpp"

#include <fstream>
#include <string>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::audit;
using namespace nightlatch::audit::test;
using namespace std::chrono_literals;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::Equals;
using Catch::Matchers::StartsWith;

namespace {

/// The one line of the installed file that is about chips.
std::string installed_chip_rule() {
    std::ifstream file(UDEV_RULES);
    for (std::string line; std::getline(file, line);) {
        if (line.starts_with("SUBSYSTEM==\"gpio\"")) {
            return line;
        }
    }
    return "no rule about chips in " UDEV_RULES;
}

LoginFacts& login(Facts& facts) {
    return known(facts.login);
}

void add_lock(Facts& facts, Inhibitor lock) {
    known(login(facts).inhibitors).push_back(std::move(lock));
}

const Inhibitor survey{"shutdown:sleep", "tide-survey", "a sounding runs", "block", 1000, 812};

}  // namespace

// A table, and no shorter in parts. NOLINTNEXTLINE(readability-function-size)
std::vector<BadCase> audit::test::service_bad_cases() {
    return {
        {"configuration",
         Severity::error,
         "button.line",
         [](Facts& facts) { edit_config(facts, "line = \"LID_BUTTON\"\n", ""); }},
        {"configuration",
         Severity::error,
         "there is no configuration",
         [](Facts& facts) {
             facts.config = Known<ConfigFacts>::missing("nightlatch.toml (not there)");
         }},
        {"configuration",
         Severity::warning,
         "pulls the line low",
         [](Facts& facts) { edit_config(facts, "\"as-is\"", "\"pull-down\""); }},
        {"service-account",
         Severity::error,
         "no account nightlatch",
         [](Facts& facts) { facts.account.exists = false; }},
        {"service-chip-access",
         Severity::error,
         "may not open the chip",
         [](Facts& facts) {
             facts.account.chips = std::vector<ChipAccess>{{"gpiochip0", false, "root:root 0600"}};
         }},
        {"service-power-off",
         Severity::error,
         "may not power off while nobody is logged in:",
         [](Facts& facts) { login(facts).may_power_off = std::string("auth_admin_keep"); }},
        {"service-power-off",
         Severity::error,
         "may not power off while somebody is logged in:",
         [](Facts& facts) {
             login(facts).may_power_off_multiple_sessions = std::string("challenge");
         }},
        {"inhibitors-now",
         Severity::warning,
         "the button would be refused",
         [](Facts& facts) { add_lock(facts, survey); }},
        {"inhibitors-now",
         Severity::note,
         "cut short",
         [](Facts& facts) {
             edit_config(facts, "[post_halt]", "[leave]\ninhibitors = \"override\"\n\n[post_halt]");
             add_lock(facts, survey);
         }},
        {"delay-limit",
         Severity::note,
         "goes on after 5 s",
         [](Facts& facts) { edit_config(facts, "hold = \"3 s\"", "hold = \"8 s\""); }},
        {"delay-limit",
         Severity::note,
         "waits for \"tide-survey\"",
         [](Facts& facts) {
             Inhibitor delay = survey;
             delay.mode = "delay";
             add_lock(facts, delay);
         }},
        {"stop-timeouts",
         Severity::note,
         "for 2 min",
         [](Facts& facts) { facts.manager.default_stop_timeout = Duration{120s}; }},
        {"stop-timeouts",
         Severity::note,
         "half an hour",
         [](Facts& facts) { facts.manager.default_stop_timeout = Duration::max(); }},
    };
}

TEST_CASE("the service's rules pass on the good unit, and each says what it saw", "[audit]") {
    for (const RuleResult& result : judged(service_rules(), good_unit())) {
        INFO(result.rule->id);
        CHECK_THAT(outcome(result.judgement), StartsWith("pass: "));
    }
}

TEST_CASE("each thing wrong with the service is found by its rule alone", "[audit]") {
    check_bad_cases(service_rules(), service_bad_cases());
}

TEST_CASE("what is not known of the service cannot be told", "[audit]") {
    Facts facts;
    facts.where = "nothing";
    for (const RuleResult& result : judged(service_rules(), facts)) {
        INFO(result.rule->id << ": " << outcome(result.judgement));
        if (result.rule->id == "configuration") {
            CHECK(findings_in(result.judgement).size() == 1);
        } else {
            CHECK_THAT(outcome(result.judgement), StartsWith("cannot tell: "));
        }
    }
}

TEST_CASE("a mistake in the configuration is shown with file, line and column", "[audit]") {
    Facts facts = good_unit();
    edit_config(facts, "hold = \"3 s\"", "hold = 3");
    const auto findings = findings_in(of("configuration", facts));
    REQUIRE(findings.size() == 1);
    CHECK(findings[0].place == "nightlatch.toml:9:8");
    CHECK_THAT(findings[0].sentence, StartsWith("stage.hold: "));
}

TEST_CASE("every mistake in the configuration is a finding of its own", "[audit]") {
    Facts facts = good_unit();
    set_config(facts, "[button]\nchip = 1\n[[stage]]\nhold = 3\n");
    CHECK(findings_in(of("configuration", facts)).size() ==
          facts.config->loaded.diagnostics.size());
}

TEST_CASE("a device tree alone has no configuration to judge", "[audit]") {
    Facts facts = good_unit();
    facts.source = Source::files;
    facts.config = Known<ConfigFacts>::missing("it was not given");
    CHECK_THAT(outcome(of("configuration", facts)), StartsWith("cannot tell: a configuration"));
}

TEST_CASE("without the account, what it may do is not asked", "[audit]") {
    Facts facts = good_unit();
    facts.account.exists = false;
    known(facts.account.chips).front().may_open = false;
    login(facts).may_power_off = std::string("no");
    CHECK_THAT(outcome(of("service-chip-access", facts)), StartsWith("not applicable: "));
    CHECK_THAT(outcome(of("service-power-off", facts)), StartsWith("not applicable: "));
}

TEST_CASE("a chip that the service may not open is shown with its owner", "[audit]") {
    Facts facts = good_unit();
    known(facts.account.chips).front() = {"gpiochip0", false, "root:root 0600"};
    const auto findings = findings_in(of("service-chip-access", facts));
    REQUIRE(findings.size() == 1);
    CHECK(findings[0].place == "/dev/gpiochip0");
    CHECK_THAT(findings[0].evidence.at(0), Equals("/dev/gpiochip0 belongs to root:root 0600"));
    CHECK_THAT(findings[0].remedy, ContainsSubstring("40-nightlatch.rules"));
    CHECK_THAT(findings[0].remedy, ContainsSubstring(installed_chip_rule()));
}

TEST_CASE("the chip of an alarm's line that the service may not open is found", "[audit]") {
    Facts facts = good_unit();
    set_config(facts, good_config() + R"([[alarm]]
name = "battery low"
chip = "float-expander"
line = "FLOAT_LOW"
active = "low"
)");
    facts.account.chips = std::vector<ChipAccess>{{"gpiochip0", true, "root:gpio 0660"},
                                                  {"gpiochip1", false, "root:root 0600"}};
    const auto findings = findings_in(of("service-chip-access", facts));
    REQUIRE(findings.size() == 1);
    CHECK(findings[0].place == "/dev/gpiochip1");
    CHECK_THAT(findings[0].sentence, ContainsSubstring("the alarm \"battery low\" never comes"));
    known(facts.account.chips)[1].may_open = true;
    CHECK_THAT(outcome(of("service-chip-access", facts)), ContainsSubstring("/dev/gpiochip1"));
}

TEST_CASE("both of polkit's answers must be yes, and one that is unknown is not a yes", "[audit]") {
    Facts facts = good_unit();
    login(facts).may_power_off_multiple_sessions = Known<std::string>::missing("polkit is silent");
    CHECK(outcome(of("service-power-off", facts)) == "cannot tell: polkit is silent");
    login(facts).may_power_off = std::string("no");
    const auto findings = findings_in(of("service-power-off", facts));
    REQUIRE(findings.size() == 1);
    CHECK_THAT(findings[0].evidence.at(1), ContainsSubstring("polkit is silent"));
    CHECK_THAT(findings[0].remedy, ContainsSubstring("50-nightlatch.rules"));
}

TEST_CASE("a button that only announces needs no leave to power off", "[audit]") {
    Facts facts = good_unit();
    edit_config(facts, "\"power-off\"", "\"announce\"");
    login(facts).may_power_off = std::string("no");
    CHECK_THAT(outcome(of("service-power-off", facts)), StartsWith("not applicable: "));
}

TEST_CASE("only a block lock on shutdown is in the way, and its holder is named", "[audit]") {
    Facts facts = good_unit();
    Inhibitor lock = survey;
    lock.what = "sleep:handle-power-key";
    add_lock(facts, lock);
    lock = survey;
    lock.what = "shutdown-like";
    add_lock(facts, lock);
    lock = survey;
    lock.mode = "delay";
    add_lock(facts, lock);
    CHECK_THAT(outcome(of("inhibitors-now", facts)), StartsWith("pass: "));
    lock = survey;
    lock.mode = "block-weak";
    add_lock(facts, lock);
    const auto findings = findings_in(of("inhibitors-now", facts));
    REQUIRE(findings.size() == 1);
    CHECK_THAT(findings[0].sentence, StartsWith("\"tide-survey\" (uid 1000, process 812)"));
    CHECK_THAT(findings[0].evidence.at(0), ContainsSubstring("a sounding runs"));
}

TEST_CASE("a lock's text cannot steer a terminal", "[audit]") {
    Facts facts = good_unit();
    Inhibitor lock = survey;
    lock.who = "\x1b[2J";
    lock.why = "\x07";
    add_lock(facts, lock);
    const auto findings = findings_in(of("inhibitors-now", facts));
    REQUIRE(findings.size() == 1);
    CHECK(findings[0].sentence.find('\x1b') == std::string::npos);
    CHECK(findings[0].evidence.at(0).find('\x07') == std::string::npos);
}

TEST_CASE("nobody holds a lock in an image", "[audit]") {
    CHECK_THAT(outcome(of("inhibitors-now", as_image(good_unit()))),
               StartsWith("not applicable: the image at /mnt does not run"));
}

TEST_CASE("our own delay lock holds nobody up but for the button", "[audit]") {
    Facts facts = good_unit();
    add_lock(facts, {"shutdown", "Nightlatch", "the button is held", "delay", 990, 400});
    CHECK_THAT(outcome(of("delay-limit", facts)), StartsWith("pass: "));
}

TEST_CASE("the delay limit is judged against the longest hold, and the remedy is longer",
          "[audit]") {
    Facts facts = good_unit();
    edit_config(
        facts,
        "[post_halt]",
        "[[stage]]\nname = \"again\"\nhold = \"9.5 s\"\naction = \"reboot\"\n\n[post_halt]");
    const auto findings = findings_in(of("delay-limit", facts));
    REQUIRE(findings.size() == 1);
    CHECK_THAT(findings[0].remedy, ContainsSubstring("InhibitDelayMaxSec=12"));
    login(facts).delay_limit = Duration{12s};
    CHECK_THAT(outcome(of("delay-limit", facts)), StartsWith("pass: "));
}

TEST_CASE("the usual stop time-out is not a finding", "[audit]") {
    Facts facts = good_unit();
    facts.manager.default_stop_timeout = Duration{90s};
    CHECK_THAT(outcome(of("stop-timeouts", facts)), StartsWith("pass: "));
}
