// SPDX-License-Identifier: MIT
#pragma once

#include "audit/power_keys.hpp"
#include "audit/rule.hpp"
#include "audit/ways_off.hpp"
#include "audit/witness.hpp"
#include "core/settings.hpp"

#include <optional>
#include <vector>

namespace nightlatch::audit {

struct RuleResult {
    const Rule* rule = nullptr;
    Judgement judgement;
};

/// What the post-halt rules say together, with the one reason that decided it.
struct VerdictResult {
    core::Verdict verdict = core::Verdict::cannot_tell;
    std::string reason;  ///< one sentence
};

struct Audit {
    Source source = Source::live;
    std::string where;
    VerdictResult verdict;
    std::vector<RuleResult> results;  ///< in the order of the rules
    bool bad_configuration = false;   ///< it was read, and the service would not start with it
    std::vector<WayOff> ways_off;     ///< in the kernel's order
    std::vector<HeardKey> power_keys;
    std::string ways_off_hidden;       ///< what could be among them and cannot be seen from here
    bool chosen = false;               ///< the rules are those that a person named, and no others
    std::optional<Witness> witness{};  ///< nothing: nobody has, as far as was looked
};

/// Runs rules over facts; each once, whatever the order they are given in. A rule whose needs
/// were not met is NotApplicable and says which. `only` and `skip` hold ids; empty `only`: all.
/// What a rule that runs needs runs too, though it may not be shown.
struct Choice {
    std::vector<std::string> only;
    std::vector<std::string> skip;
};

/// Configured, and it was watched on a unit that was as this one is.
bool is_proven(const Audit& audit);

Audit run(const Facts& facts, const Choice& choice = {});

/// The verdict alone: only the post-halt rules; what the service runs.
VerdictResult judge_post_halt(const Facts& facts);

/// Every rule, in the order of the report.
std::vector<const Rule*> all_rules();

const Rule* find_rule(std::string_view id);

}  // namespace nightlatch::audit
