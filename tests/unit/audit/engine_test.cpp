// SPDX-License-Identifier: MIT
#include "unit/audit/rule_cases.hpp"

#include <algorithm>
#include <array>
#include <random>
#include <set>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::audit;
using namespace nightlatch::audit::test;
using Catch::Matchers::StartsWith;

namespace {

Judgement always_fails(const Scene&) {
    return Found{{{Severity::error, "here", "it always fails", {}, "nothing helps"}}};
}

Judgement always_passes(const Scene&) {
    return Pass{"it always passes"};
}

Judgement never_knows(const Scene&) {
    return CannotTell{"the moon's phase"};
}

constexpr std::array<std::string_view, 1> needs_failing{"always-fails"};
constexpr std::array<std::string_view, 1> needs_unknown{"never-knows"};
constexpr std::array<std::string_view, 2> needs_both{"never-knows", "always-fails"};
constexpr std::array<std::string_view, 1> needs_absent{"no-such-rule"};
constexpr std::array<std::string_view, 1> needs_itself{"circle"};
constexpr std::array<std::string_view, 1> needs_chain{"after-failing"};

constexpr Rule failing{"always-fails", Group::system, "t", "r", {}, always_fails};
constexpr Rule unknown{"never-knows", Group::system, "t", "r", {}, never_knows};
constexpr Rule after_failing{
    "after-failing", Group::system, "t", "r", needs_failing, always_passes};
constexpr Rule after_chain{"after-chain", Group::system, "t", "r", needs_chain, always_passes};
constexpr Rule after_unknown{
    "after-unknown", Group::system, "t", "r", needs_unknown, always_passes};
constexpr Rule after_both{"after-both", Group::system, "t", "r", needs_both, always_passes};
constexpr Rule after_absent{"after-absent", Group::system, "t", "r", needs_absent, always_passes};
constexpr Rule circle{"circle", Group::system, "t", "r", needs_itself, always_passes};

std::vector<RuleResult> run_of(std::vector<const Rule*> rules, const Choice& choice = {}) {
    const Facts facts = good_unit();
    const Scene scene = make_scene(facts);
    return run_rules(rules, scene, choice);
}

std::string outcome_of(const std::vector<RuleResult>& results, std::string_view id) {
    for (const RuleResult& result : results) {
        if (result.rule->id == id) {
            return outcome(result.judgement);
        }
    }
    return "not shown";
}

std::vector<BadCase> all_cases() {
    std::vector<BadCase> all;
    for (const auto& cases : {post_halt_bad_cases(),
                              button_bad_cases(),
                              cue_bad_cases(),
                              service_bad_cases(),
                              system_bad_cases(),
                              boot_bad_cases()}) {
        all.insert(all.end(), cases.begin(), cases.end());
    }
    return all;
}

void check_words(const RuleResult& result) {
    for (const Finding& finding : findings_in(result.judgement)) {
        CHECK_FALSE(finding.remedy.empty());
        CHECK_FALSE(finding.sentence.empty());
    }
}

}  // namespace

TEST_CASE("a rule that always fails gives its finding", "[audit][engine]") {
    CHECK(outcome_of(run_of({&failing}), "always-fails") == "found: error: it always fails");
}

TEST_CASE("what needs a rule that did not pass does not apply, and says which", "[audit][engine]") {
    const auto results = run_of({&after_chain, &after_failing, &failing});
    CHECK(outcome_of(results, "after-failing") ==
          "not applicable: it needs always-fails, which did not pass");
    CHECK(outcome_of(results, "after-chain") ==
          "not applicable: it needs after-failing, which did not pass");
}

TEST_CASE("what needs a rule that cannot tell cannot tell either, unless another need failed",
          "[audit][engine]") {
    const auto results = run_of({&after_unknown, &after_both, &unknown, &failing});
    CHECK(outcome_of(results, "after-unknown") == "cannot tell: the moon's phase");
    CHECK_THAT(outcome_of(results, "after-both"), StartsWith("not applicable"));
}

TEST_CASE("a need that is not there, and a circle of needs, are no silent pass",
          "[audit][engine]") {
    const auto results = run_of({&after_absent, &circle});
    CHECK_THAT(outcome_of(results, "after-absent"), StartsWith("cannot tell: it needs no-such"));
    CHECK_THAT(outcome_of(results, "circle"), StartsWith("cannot tell"));
}

TEST_CASE("a choice shows only what was chosen, judged with what it needs", "[audit][engine]") {
    const auto only = run_of({&failing, &after_failing, &unknown}, {{"after-failing"}, {}});
    REQUIRE(only.size() == 1);
    CHECK_THAT(outcome_of(only, "after-failing"), StartsWith("not applicable"));
    const auto rest = run_of({&failing, &after_failing, &unknown}, {{}, {"always-fails"}});
    CHECK(rest.size() == 2);
    CHECK_THAT(outcome_of(rest, "after-failing"), StartsWith("not applicable"));
}

TEST_CASE("what was chosen does not move the verdict", "[audit][engine]") {
    Facts facts = good_unit();
    remove_node(facts, post_halt_node);
    const Audit audit = run(facts, {{"led-there"}, {}});
    CHECK(audit.verdict.verdict == core::Verdict::absent);
    CHECK(audit.results.size() == 1);
}

TEST_CASE("ids are unique, needs are there and stand in no circle, and words are filled in",
          "[audit][rules]") {
    const std::vector<const Rule*> rules = all_rules();
    std::set<std::string_view> done;
    for (const Rule* const rule : rules) {
        INFO(rule->id);
        CHECK(find_rule(rule->id) == rule);  // the first of that id is this one
        CHECK_FALSE(rule->title.empty());
        CHECK(rule->rationale.size() > 60);
        CHECK(rule->rationale.find("  ") == std::string_view::npos);
        CHECK(rule->id.find_first_not_of("abcdefghijklmnopqrstuvwxyz-") == std::string_view::npos);
    }
    for (std::size_t round = 0; round < rules.size(); ++round) {
        for (const Rule* const rule : rules) {
            if (std::all_of(rule->needs.begin(), rule->needs.end(), [&](std::string_view need) {
                    return done.contains(need);
                })) {
                done.insert(rule->id);
            }
        }
    }
    CHECK(done.size() == rules.size());
    CHECK(find_rule("no-such-rule") == nullptr);
}

TEST_CASE("no rule finds anything in the good unit", "[audit][rules]") {
    // What the unit has none of: an alarm, and a boot loader's text, which also says how the line
    // rests.
    for (const RuleResult& result : run(good_unit()).results) {
        INFO(result.rule->id << ": " << outcome(result.judgement));
        if (result.rule->group == Group::boot || result.rule->id.starts_with("alarm-")) {
            CHECK(std::holds_alternative<NotApplicable>(result.judgement));
        } else if (result.rule->id == "post-halt-start") {
            CHECK(std::holds_alternative<CannotTell>(result.judgement));
        } else {
            CHECK(std::holds_alternative<Pass>(result.judgement));
        }
    }
}

TEST_CASE("every rule has a bad case that it finds, and a remedy for it", "[audit][rules]") {
    std::set<std::string_view> found;
    for (const BadCase& bad : all_cases()) {
        Facts facts = good_unit();
        bad.spoil(facts);
        for (const RuleResult& result : run(facts).results) {
            INFO(bad.id << ", " << bad.says << " -> " << result.rule->id);
            check_words(result);
            if (result.rule->id == bad.id && !findings_in(result.judgement).empty()) {
                found.insert(bad.id);
            }
        }
    }
    for (const Rule* const rule : all_rules()) {
        INFO(rule->id);
        CHECK(found.contains(rule->id));
    }
}

TEST_CASE("findings do not depend on the order of the rules", "[audit][rules]") {
    std::mt19937 random(7);
    std::vector<const Rule*> rules = all_rules();
    for (const BadCase& bad : all_cases()) {
        Facts facts = good_unit();
        bad.spoil(facts);
        const Scene scene = make_scene(facts);
        const auto in_order = run_rules(all_rules(), scene);
        std::shuffle(rules.begin(), rules.end(), random);
        const auto shuffled = run_rules(rules, scene);
        REQUIRE(shuffled.size() == in_order.size());
        for (const RuleResult& result : in_order) {
            INFO(bad.id << ": " << result.rule->id);
            CHECK(outcome(result.judgement) == outcome_of(shuffled, result.rule->id));
        }
    }
}
