// SPDX-License-Identifier: MIT
#pragma once

#include "audit/audit.hpp"

#include <span>

/// Running rules, whichever they are: for the audit, and for a test that brings rules of its own.
namespace nightlatch::audit {

/// Judges the chosen rules and what they need; gives the results of the chosen ones, in the order
/// of `rules`. Each runs once, after what it needs. A need that did not pass makes its dependant
/// not applicable; one that cannot be told, when nothing else decides, makes it cannot-tell as
/// well.
std::vector<RuleResult> run_rules(std::span<const Rule* const> rules,
                                  const Scene& scene,
                                  const Choice& choice = {});

}  // namespace nightlatch::audit
