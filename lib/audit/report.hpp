// SPDX-License-Identifier: MIT
#pragma once

#include "audit/audit.hpp"
#include "page/page.hpp"

namespace nightlatch::audit {

struct ReportStyle {
    bool all = false;  ///< also what passed and what does not apply
    page::Style page{};
};

/// The verdict in one line and the one next action; then findings, worst first; what cannot be
/// told; passes as a count.
std::string to_text(const Audit& audit, const ReportStyle& style = {});

/// A rule explained: title, why, what it needs.
std::string explain(const Rule& rule, const page::Style& style = {});

/// 0 when nothing worse than a note is shown and, if any post-halt rule is shown, the verdict is
/// configured; 2 when the configuration is bad, which every command answers so; 1 otherwise: also
/// when the verdict cannot be told.
int exit_status(const Audit& audit);

/// The one next action.
std::string next_action(const Audit& audit);

}  // namespace nightlatch::audit
