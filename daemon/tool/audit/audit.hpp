// SPDX-License-Identifier: MIT
#pragma once

#include "audit/audit.hpp"
#include "audit/grounds.hpp"
#include "base/result.hpp"
#include "daemon/tool/json.hpp"
#include "daemon/tool/options.hpp"

#include <optional>
#include <string>
#include <vector>

namespace nightlatch::tool {

struct AuditOptions {
    std::optional<std::string> config;  ///< without one, the file that the service reads
    std::string root;                   ///< an image's folder; "" for this machine
    std::string tree;                   ///< a blob instead of the running tree; "" for none
    std::vector<std::string> overlays;  ///< blobs, applied to `tree` in this order
    std::string kernel;                 ///< the version that will boot; "" for none said
    std::string kernel_config;          ///< that kernel's configuration; "" for none said
    audit::Choice choice;
    std::string save;     ///< keep the facts that the verdict rests on in this file; "" for not
    std::string against;  ///< a file of that kind: say what has changed since; "" for not
    std::string explain;  ///< a rule's id; "" for none
    bool rules = false;   ///< list the rules
    bool all = false;
    bool json = false;
};

/// Everything that the chosen source offers. Fails when a file that was named cannot be read.
Result<audit::Facts> gather(const AuditOptions& options);

/// Who watched the supply go, for programs; null for nobody.
Json witness_json(const std::optional<audit::Witness>& witness);

/// For programs; see nightlatch(1).
std::string audit_json(const audit::Audit& audit);

/// The facts that the verdict rests on, as this version keeps them.
audit::Grounds grounds_now(const audit::Facts& facts, core::Verdict verdict);

/// Writes the facts that the verdict rests on, and says so to standard error.
Outcome save_grounds(const audit::Facts& facts, const std::string& file);

/// The command with --against: 0 when all is as it was, 1 when not, 2 for a file that cannot be
/// read.
int run_against(const audit::Facts& facts, const AuditOptions& options);

/// What `audit` can be told.
void describe_audit(Options& options, AuditOptions& into);

/// The command as a whole, to standard output and standard error. 0 fine, 1 something to report, 2
/// usage, or a file that cannot be read.
int run_audit(const AuditOptions& options);

}  // namespace nightlatch::tool
