// SPDX-License-Identifier: MIT
#include "daemon/tool/audit/audit.hpp"

#include "audit/report.hpp"
#include "base/text.hpp"
#include "daemon/tool/logbook/logbook.hpp"
#include "daemon/tool/output.hpp"
#include "daemon/tool/terminal.hpp"

#include <algorithm>
#include <cstdio>

namespace nightlatch::tool {
namespace {

std::string unknown_rule(const std::string& id) {
    std::vector<std::string_view> ids;
    for (const audit::Rule* rule : audit::all_rules()) {
        ids.push_back(rule->id);
    }
    const std::string meant = did_you_mean(id, ids);
    return "there is no rule " + in_quotes(id) + (meant.empty() ? "." : meant) +
           " `nightlatch audit --rules` lists them.";
}

/// The first id that no rule has; empty when all are known.
std::string first_unknown(const AuditOptions& options) {
    std::vector<std::string> named = options.choice.only;
    named.insert(named.end(), options.choice.skip.begin(), options.choice.skip.end());
    if (!options.explain.empty()) {
        named.push_back(options.explain);
    }
    const auto unknown = std::find_if(named.begin(), named.end(), [](const std::string& id) {
        return audit::find_rule(id) == nullptr;
    });
    return unknown == named.end() ? "" : *unknown;
}

std::string rule_list() {
    std::vector<page::Row> rows;
    for (const audit::Rule* rule : audit::all_rules()) {
        rows.push_back({std::string(rule->id), std::string(rule->title)});
    }
    return page::table(rows, {});
}

/// What the unit's own logbook says of its supply: of an image or of files nobody has watched it.
std::optional<audit::Witness> witness_of_unit(const audit::Facts& facts,
                                              const AuditOptions& options) {
    if (!options.root.empty() || !options.tree.empty()) {
        return std::nullopt;
    }
    LogbookOptions logbook;
    logbook.config = options.config;
    const auto pages = read_pages(logbook_file(logbook).path);
    return pages ? last_witness(pages->runs, facts) : std::nullopt;
}

}  // namespace

int run_audit(const AuditOptions& options) {
    if (const std::string id = first_unknown(options); !id.empty()) {
        return complain(unknown_rule(id));
    }
    if (options.rules) {
        print(rule_list());
        return 0;
    }
    const audit::ReportStyle style{options.all, style_of_output()};
    if (!options.explain.empty()) {
        print(explain(*audit::find_rule(options.explain), style.page));
        return 0;
    }
    const auto facts = gather(options);
    if (!facts) {
        return complain(facts.error().text);
    }
    if (!options.against.empty()) {
        return run_against(*facts, options);
    }
    if (!options.save.empty()) {
        if (const auto saved = save_grounds(*facts, options.save); !saved) {
            return complain(saved.error().text);
        }
    }
    audit::Audit audit = audit::run(*facts, options.choice);
    audit.witness = witness_of_unit(*facts, options);
    print(options.json ? audit_json(audit) : to_text(audit, style));
    return exit_status(audit);
}

}  // namespace nightlatch::tool
