// SPDX-License-Identifier: MIT
#include "unit/audit/rule_cases.hpp"

#include "base/ensure.hpp"

#include <algorithm>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

namespace nightlatch::audit::test {

using Catch::Matchers::ContainsSubstring;

std::vector<RuleResult> judged(std::span<const Rule> rules, const Facts& facts) {
    std::vector<const Rule*> all;
    for (const Rule& rule : rules) {
        all.push_back(&rule);
    }
    const Scene scene = make_scene(facts);
    return run_rules(all, scene);
}

Judgement of(std::string_view id, const Facts& facts) {
    const Audit audit = run(facts, {{std::string(id)}, {}});
    NIGHTLATCH_ENSURE(audit.results.size() == 1);
    return audit.results.front().judgement;
}

std::vector<Finding> findings_in(const Judgement& judgement) {
    const Found* const found = std::get_if<Found>(&judgement);
    return found == nullptr ? std::vector<Finding>{} : found->findings;
}

std::string outcome(const Judgement& judgement) {
    if (const auto* pass = std::get_if<Pass>(&judgement)) {
        return "pass: " + pass->sentence;
    }
    if (const auto* none = std::get_if<NotApplicable>(&judgement)) {
        return "not applicable: " + none->why;
    }
    if (const auto* unknown = std::get_if<CannotTell>(&judgement)) {
        return "cannot tell: " + unknown->missing;
    }
    std::string text = "found:";
    for (const Finding& finding : findings_in(judgement)) {
        text += " " + std::string(text_of(finding.severity)) + ": " + finding.sentence;
    }
    return text;
}

void check_bad_cases(std::span<const Rule> rules, const std::vector<BadCase>& cases) {
    for (const BadCase& bad : cases) {
        Facts facts = good_unit();
        bad.spoil(facts);
        for (const RuleResult& result : judged(rules, facts)) {
            INFO(bad.id << ", " << bad.says << "; " << result.rule->id << ": "
                        << outcome(result.judgement));
            const std::vector<Finding> findings = findings_in(result.judgement);
            if (result.rule->id != bad.id) {
                CHECK(findings.empty());
                continue;
            }
            REQUIRE(findings.size() == 1);
            CHECK(findings.front().severity == bad.severity);
            CHECK_THAT(findings.front().sentence, ContainsSubstring(std::string(bad.says)));
            CHECK_FALSE(findings.front().remedy.empty());
        }
    }
    for (const Rule& rule : rules) {
        INFO(rule.id << " has no bad case");
        CHECK(std::any_of(
            cases.begin(), cases.end(), [&](const BadCase& bad) { return bad.id == rule.id; }));
    }
}

}  // namespace nightlatch::audit::test
