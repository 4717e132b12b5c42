// SPDX-License-Identifier: MIT
#include "audit/witness.hpp"

#include "audit/audit.hpp"
#include "audit/comparison.hpp"
#include "audit/proof.hpp"
#include "base/text.hpp"
#include "core/verdict_word.hpp"

#include <algorithm>

namespace nightlatch::audit {
namespace {

std::string list_of(const std::vector<std::string>& keys) {
    std::string text;
    for (const std::string& key : keys) {
        text += (text.empty() ? "" : ", ") + key;
    }
    return text;
}

std::string why_not(const Comparison& comparison, const std::vector<std::string>& changed) {
    if (!changed.empty()) {
        return "Since then " + list_of(changed) +
               (changed.size() == 1 ? " has changed." : " have changed.");
    }
    const bool same_verdict = comparison.verdict_then == core::word_of(comparison.verdict);
    if (!same_verdict) {
        return "The verdict is not what it was then.";
    }
    return "Not all that it rests on can be seen now: run it as root, on the unit.";
}

}  // namespace

Witness witness_of(WitnessedRun run, const Grounds& now, const VerdictResult& verdict) {
    Witness witness{run.run, std::move(run.words), false, "", {}};
    const auto then = read_grounds(run.facts);
    if (!then) {
        witness.why_not =
            "The facts that were kept then cannot be read (line " + then.error() + ").";
        return witness;
    }
    const Comparison comparison = compare(*then, now, verdict);
    for (const Change& change : comparison.changed) {
        if (change.matters) {
            witness.changed.push_back(change.key);
        }
    }
    witness.holds = verdict.verdict == core::Verdict::configured && is_as_it_was(comparison);
    if (!witness.holds) {
        witness.why_not = why_not(comparison, witness.changed);
    }
    return witness;
}

bool is_proven(const Audit& audit) {
    return audit.witness && audit.witness->holds &&
           audit.verdict.verdict == core::Verdict::configured;
}

std::string sentence_of(const Witness& witness) {
    return "A person watched the supply go after run " + std::to_string(witness.run) + ": " +
           in_quotes(witness.words, 200) + ". " +
           (witness.holds ? "All that the verdict rests on is as it was then." : witness.why_not);
}

}  // namespace nightlatch::audit
