// SPDX-License-Identifier: MIT
#include "audit/verdict.hpp"
#include "unit/audit/rule_cases.hpp"

#include <algorithm>
#include <random>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::audit;
using namespace nightlatch::audit::test;
using core::Verdict;

namespace {

/// What the service has: the tree, the chips and the driver's directory, but nothing of root's.
Facts as_the_service_sees(Facts facts) {
    facts.driver.configured = Known<Built>::missing("the kernel's configuration");
    facts.driver.deferred = Known<std::vector<std::string>>::missing("deferred devices");
    facts.driver.log = Known<std::vector<std::string>>::missing("the kernel's log");
    facts.pins = Known<lines::Pins>::missing("pins");
    facts.power_keys = Known<std::vector<PowerKeySource>>::missing("input devices");
    facts.login = Known<LoginFacts>::missing("the login manager");
    facts.button_level = Known<RestLevel>::missing("the level");
    facts.boot = Known<std::vector<bootfiles::Intent>>::missing("boot files");
    facts.leds = Known<std::vector<LedFacts>>::missing("LEDs");
    facts.mounts = Known<std::vector<Mount>>::missing("mounts");
    facts.watchdogs = Known<std::vector<Watchdog>>::missing("watchdogs");
    facts.account = {};
    facts.manager = {};
    facts.hang = {};
    return facts;
}

Verdict expected(const BadCase& bad) {
    if (bad.id == "post-halt-node" || bad.id == "post-halt-enabled") {
        return Verdict::absent;
    }
    return bad.severity == Severity::error ? Verdict::contradicted : Verdict::configured;
}

}  // namespace

TEST_CASE("the good unit is configured, as root sees it and as the service sees it",
          "[audit][verdict]") {
    CHECK(judge_post_halt(good_unit()).verdict == Verdict::configured);
    CHECK(judge_post_halt(as_the_service_sees(good_unit())).verdict == Verdict::configured);
    CHECK(judge_post_halt(as_image(good_unit())).verdict == Verdict::configured);
}

TEST_CASE("no node is absent, an error is contradicted, a warning changes nothing",
          "[audit][verdict]") {
    for (const BadCase& bad : post_halt_bad_cases()) {
        INFO(bad.id << ", " << bad.says);
        Facts facts = good_unit();
        bad.spoil(facts);
        const VerdictResult verdict = judge_post_halt(facts);
        CHECK(verdict.verdict == expected(bad));
        if (verdict.verdict != Verdict::configured) {
            CHECK_THAT(verdict.reason, Catch::Matchers::ContainsSubstring(std::string(bad.says)));
        }
    }
}

TEST_CASE("the service's verdict is root's", "[audit][verdict]") {
    for (const BadCase& bad : post_halt_bad_cases()) {
        INFO(bad.id << ", " << bad.says);
        Facts facts = good_unit();
        bad.spoil(facts);
        const Facts seen = as_the_service_sees(facts);
        // Only the kernel's configuration tells it when even the driver's directory cannot be seen.
        const bool blind = !seen.driver.registered && !seen.driver.configured;
        CHECK(judge_post_halt(seen).verdict == (blind ? Verdict::cannot_tell : expected(bad)));
    }
}

TEST_CASE("other groups say nothing about the verdict", "[audit][verdict]") {
    for (const auto& cases : {button_bad_cases(), cue_bad_cases()}) {
        for (const BadCase& bad : cases) {
            INFO(bad.id << ", " << bad.says);
            Facts facts = good_unit();
            bad.spoil(facts);
            if (bad.id == "line-ambiguous" || bad.id == "button-not-post-halt") {
                continue;  // these spoil [post_halt] or the node, too
            }
            CHECK(judge_post_halt(facts).verdict == Verdict::configured);
        }
    }
}

TEST_CASE("the verdict's reason is that of the first rule, whatever order results come in",
          "[audit][verdict]") {
    Facts facts = good_unit();
    set_property(facts, post_halt_node, "gpios", cells({gpio_phandle, 7, 1}));
    std::vector<RuleResult> results = judged(post_halt_rules(), facts);
    const std::string reason = verdict_of(results).reason;
    CHECK_THAT(reason, Catch::Matchers::ContainsSubstring("line 7"));
    std::mt19937 random(3);
    for (int i = 0; i < 20; ++i) {
        std::shuffle(results.begin(), results.end(), random);
        CHECK(verdict_of(results).reason == reason);
    }
}

TEST_CASE("a driver that cannot be seen leaves the verdict open", "[audit][verdict]") {
    Facts facts = good_unit();
    facts.driver.bound = Known<std::vector<std::string>>::missing("the driver's directory");
    const VerdictResult verdict = judge_post_halt(facts);
    CHECK(verdict.verdict == Verdict::cannot_tell);
    CHECK(verdict.reason == "the driver's directory");
}
