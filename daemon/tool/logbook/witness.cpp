// SPDX-License-Identifier: MIT
#include "audit/audit.hpp"
#include "audit/proof.hpp"
#include "daemon/tool/audit/audit.hpp"
#include "daemon/tool/logbook/logbook.hpp"

#include <algorithm>

namespace nightlatch::tool {

std::optional<audit::Witness> last_witness(const std::vector<logbook::Run>& runs,
                                           const audit::Facts& facts) {
    const auto run = std::find_if(
        runs.rbegin(), runs.rend(), [](const logbook::Run& one) { return !one.witnessed.empty(); });
    if (run == runs.rend()) {
        return std::nullopt;
    }
    const logbook::Witnessed& record = run->witnessed.back();
    const audit::VerdictResult verdict = audit::judge_post_halt(facts);
    return audit::witness_of(
        {run->id.number, record.words, record.facts}, grounds_now(facts, verdict.verdict), verdict);
}

}  // namespace nightlatch::tool
