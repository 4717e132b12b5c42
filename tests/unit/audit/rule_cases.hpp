// SPDX-License-Identifier: MIT
#pragma once

#include "audit/engine.hpp"
#include "support/good_unit.hpp"

#include <string>
#include <vector>

namespace nightlatch::audit::test {

/// One thing wrong with the good unit, and the rule that must find it.
struct BadCase {
    std::string_view id;
    Severity severity{};
    std::string_view says;  ///< stands in the finding's sentence
    void (*spoil)(Facts& facts);
};

std::vector<BadCase> post_halt_bad_cases();
std::vector<BadCase> button_bad_cases();
std::vector<BadCase> cue_bad_cases();
std::vector<BadCase> service_bad_cases();
std::vector<BadCase> system_bad_cases();
std::vector<BadCase> boot_bad_cases();

/// What the rules of a group say, in their order.
std::vector<RuleResult> judged(std::span<const Rule> rules, const Facts& facts);

/// What the rule of that id says.
Judgement of(std::string_view id, const Facts& facts);

/// Empty when it did not find anything.
std::vector<Finding> findings_in(const Judgement& judgement);

/// The rule's sentence of a pass, a "not applicable" or a "cannot tell", with its kind in front.
std::string outcome(const Judgement& judgement);

/// Each case is found by its rule, as it says, with a remedy, and by no other rule of the group.
void check_bad_cases(std::span<const Rule> rules, const std::vector<BadCase>& cases);

}  // namespace nightlatch::audit::test
