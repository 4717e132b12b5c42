// SPDX-License-Identifier: MIT
#pragma once

#include "audit/audit.hpp"

namespace nightlatch::audit {

struct ReportStyle {
    bool all = false;       ///< also what passed and what does not apply
    unsigned columns = 80;  ///< where sentences are broken
    bool colour = false;
};

/// The verdict in one line and the one next action; then findings, worst first; what cannot be told;
/// passes as a count.
std::string to_text(const Audit& audit, const ReportStyle& style = {});

/// A rule explained: title, why, what it needs.
std::string explain(const Rule& rule, unsigned columns = 80);

/// 0 nothing worse than a note and the verdict is no bad one, 1 otherwise.
int exit_status(const Audit& audit);

/// The one next action.
std::string next_action(const Audit& audit);

}  // namespace nightlatch::audit
