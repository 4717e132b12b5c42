// SPDX-License-Identifier: MIT
//
// | what the post-halt rules say                                  | verdict      |
// |----------------------------------------------------------------|--------------|
// | an error of a rule by which the line exists                    | absent       |
// | else an error of any other rule of the group                   | contradicted |
// | else one of the rules that decide cannot tell                  | cannot tell  |
// | else, whatever warnings and notes there are                    | configured   |
#include "audit/verdict.hpp"

#include <algorithm>

namespace nightlatch::audit {
namespace {

const Finding* first_error(const RuleResult& result) {
    const auto* const found = std::get_if<Found>(&result.judgement);
    if (found == nullptr) {
        return nullptr;
    }
    const auto it = std::find_if(found->findings.begin(),
                                 found->findings.end(),
                                 [](const Finding& f) { return f.severity == Severity::error; });
    return it == found->findings.end() ? nullptr : &*it;
}

/// The rule that comes first in the order of the report decides, whatever order the results are in.
void take_earlier(const RuleResult*& best, const RuleResult& other) {
    const auto place = [](const RuleResult& result) {
        const std::span<const Rule> rules = post_halt_rules();
        return std::find_if(rules.begin(),
                            rules.end(),
                            [&](const Rule& rule) { return rule.id == result.rule->id; }) -
               rules.begin();
    };
    if (best == nullptr || place(other) < place(*best)) {
        best = &other;
    }
}

}  // namespace

VerdictResult verdict_of(std::span<const RuleResult> results) {
    const RuleResult* absent = nullptr;
    const RuleResult* contradicted = nullptr;
    const RuleResult* unknown = nullptr;
    for (const RuleResult& result : results) {
        if (result.rule->group != Group::post_halt) {
            continue;
        }
        if (first_error(result) != nullptr) {
            take_earlier(result.rule->bearing == Bearing::exists ? absent : contradicted, result);
        } else if (std::holds_alternative<CannotTell>(result.judgement) &&
                   result.rule->bearing != Bearing::aside) {
            take_earlier(unknown, result);
        }
    }
    if (absent != nullptr) {
        return {core::Verdict::absent, first_error(*absent)->sentence};
    }
    if (contradicted != nullptr) {
        return {core::Verdict::contradicted, first_error(*contradicted)->sentence};
    }
    if (unknown != nullptr) {
        return {core::Verdict::cannot_tell, std::get<CannotTell>(unknown->judgement).missing};
    }
    return {core::Verdict::configured, "everything that could be seen is as the circuit expects"};
}

}  // namespace nightlatch::audit
