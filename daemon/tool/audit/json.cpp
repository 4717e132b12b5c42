// SPDX-License-Identifier: MIT
#include "audit/report.hpp"
#include "config/words.hpp"
#include "daemon/tool/audit/audit.hpp"

#include <nlohmann/json.hpp>

namespace nightlatch::tool {
namespace {

using Json = nlohmann::ordered_json;

std::string_view source_word(audit::Source source) {
    switch (source) {
    case audit::Source::live:
        return "live";
    case audit::Source::image:
        return "image";
    case audit::Source::files:
        return "files";
    }
    return "";
}

std::string_view verdict_word(core::Verdict verdict) {
    switch (verdict) {
    case core::Verdict::configured:
        return "configured";
    case core::Verdict::contradicted:
        return "contradicted";
    case core::Verdict::absent:
        return "absent";
    case core::Verdict::cannot_tell:
        return "cannot-tell";
    }
    return "";
}

Json finding_json(const audit::Finding& finding) {
    return {{"severity", text_of(finding.severity)},
            {"place", finding.place},
            {"sentence", finding.sentence},
            {"evidence", finding.evidence},
            {"remedy", finding.remedy}};
}

/// The outcome, and what goes with it under the same names in every rule.
struct OutcomeJson {
    Json operator()(const audit::Pass& pass) const {
        return {{"outcome", "pass"}, {"reason", pass.sentence}, {"findings", Json::array()}};
    }

    Json operator()(const audit::Found& found) const {
        Json findings = Json::array();
        for (const audit::Finding& finding : found.findings) {
            findings.push_back(finding_json(finding));
        }
        return {{"outcome", "finding"}, {"reason", ""}, {"findings", findings}};
    }

    Json operator()(const audit::NotApplicable& not_applicable) const {
        return {{"outcome", "not-applicable"},
                {"reason", not_applicable.why},
                {"findings", Json::array()}};
    }

    Json operator()(const audit::CannotTell& cannot_tell) const {
        return {{"outcome", "cannot-tell"},
                {"reason", cannot_tell.missing},
                {"findings", Json::array()}};
    }
};

}  // namespace

std::string audit_json(const audit::Audit& audit) {
    Json rules = Json::array();
    for (const audit::RuleResult& result : audit.results) {
        Json rule{{"id", result.rule->id},
                  {"group", audit::text_of(result.rule->group)},
                  {"title", result.rule->title}};
        rule.update(std::visit(OutcomeJson{}, result.judgement));
        rules.push_back(std::move(rule));
    }
    const Json whole{{"format", "nightlatch-audit"},
                     {"version", 1},
                     {"source", source_word(audit.source)},
                     {"where", audit.where},
                     {"verdict", verdict_word(audit.verdict.verdict)},
                     {"proven", false},  // that takes a witnessed disconnect
                     {"reason", audit.verdict.reason},
                     {"next", audit::next_action(audit)},
                     {"status", audit::exit_status(audit)},
                     {"rules", rules}};
    // What a device tree or a file holds need not be UTF-8.
    return whole.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace nightlatch::tool
