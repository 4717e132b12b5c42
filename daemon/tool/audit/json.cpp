// SPDX-License-Identifier: MIT
#include "daemon/tool/json.hpp"

#include "audit/report.hpp"
#include "config/words.hpp"
#include "core/verdict_word.hpp"
#include "daemon/tool/audit/audit.hpp"

namespace nightlatch::tool {
namespace {

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

Json finding_json(const audit::Finding& finding) {
    return {{"severity", text_of(finding.severity)},
            {"place", finding.place},
            {"sentence", finding.sentence},
            {"evidence", finding.evidence},
            {"remedy", finding.remedy}};
}

Json findings_json(const audit::Found& found) {
    Json findings = Json::array();
    for (const audit::Finding& finding : found.findings) {
        findings.push_back(finding_json(finding));
    }
    return findings;
}

/// The outcome under the same names in every rule.
Json rule_json(const audit::RuleResult& result) {
    struct Outcome {
        const char* word;
        std::string reason;
        Json findings;
    };

    struct OutcomeOf {
        Outcome operator()(const audit::Pass& pass) const {
            return {"pass", pass.sentence, Json::array()};
        }

        Outcome operator()(const audit::Found& found) const {
            return {"finding", "", findings_json(found)};
        }

        Outcome operator()(const audit::NotApplicable& not_applicable) const {
            return {"not-applicable", not_applicable.why, Json::array()};
        }

        Outcome operator()(const audit::CannotTell& cannot_tell) const {
            return {"cannot-tell", cannot_tell.missing, Json::array()};
        }
    };

    Outcome outcome = std::visit(OutcomeOf{}, result.judgement);
    return {{"id", result.rule->id},
            {"group", audit::text_of(result.rule->group)},
            {"title", result.rule->title},
            {"outcome", outcome.word},
            {"reason", std::move(outcome.reason)},
            {"findings", std::move(outcome.findings)}};
}

/// The page's words may change, these do not.
std::string_view turn_word(audit::Turn turn) {
    switch (turn) {
    case audit::Turn::before:
        return "before";
    case audit::Turn::beside:
        return "beside";
    case audit::Turn::ours:
        return "post-halt";
    case audit::Turn::after:
        return "after";
    case audit::Turn::unknown:
        return "unknown";
    case audit::Turn::never:
        return "none";
    }
    return "";
}

std::string_view stand_word(audit::Stand stand) {
    switch (stand) {
    case audit::Stand::none:
        return "none";
    case audit::Stand::if_empty:
    case audit::Stand::always:
        return "slot";
    case audit::Stand::chain:
        return "chain";
    case audit::Stand::prepare:
        return "prepare";
    }
    return "";
}

Json ways_off_json(const std::vector<audit::WayOff>& ways) {
    Json all = Json::array();
    for (const audit::WayOff& way : ways) {
        const audit::Stand stand = way.standing.stand;
        Json one{{"what", way.what},
                 {"place", way.place},
                 {"turn", turn_word(way.turn)},
                 {"stand", stand_word(stand)},
                 {"priority", nullptr},
                 {"seen", way.inferred},
                 {"source", way.source}};
        if (stand == audit::Stand::chain || stand == audit::Stand::prepare) {
            one["priority"] = way.standing.priority;
        }
        all.push_back(std::move(one));
    }
    return all;
}

std::string_view kind_word(audit::KeyKind kind) {
    switch (kind) {
    case audit::KeyKind::tree:
        return "tree";
    case audit::KeyKind::power_chip:
        return "chip";
    case audit::KeyKind::cec:
        return "cec";
    case audit::KeyKind::remote:
        return "remote";
    case audit::KeyKind::keyboard:
        return "keyboard";
    case audit::KeyKind::other:
        return "other";
    }
    return "";
}

Json power_keys_json(const std::vector<audit::HeardKey>& keys) {
    Json all = Json::array();
    for (const audit::HeardKey& key : keys) {
        const audit::PowerKeySource& source = key.source;
        all.push_back({{"device", source.device},
                       {"name", source.name},
                       {"kind", kind_word(audit::kind_of(source))},
                       {"driver", source.driver},
                       {"node", source.node},
                       {"codes", source.codes},
                       {"watched", source.tagged},
                       {"heard", key.heard}});
    }
    return all;
}

}  // namespace

Json witness_json(const std::optional<audit::Witness>& witness) {
    if (!witness) {
        return {};
    }
    return {{"run", witness->run},
            {"words", witness->words},
            {"holds", witness->holds},
            {"changed", witness->changed},
            {"sentence", audit::sentence_of(*witness)}};
}

std::string audit_json(const audit::Audit& audit) {
    Json rules = Json::array();
    for (const audit::RuleResult& result : audit.results) {
        rules.push_back(rule_json(result));
    }
    const Json whole{{"source", source_word(audit.source)},
                     {"where", audit.where},
                     {"verdict", word_of(audit.verdict.verdict)},
                     {"basis", audit.source == audit::Source::live ? "live" : "files"},
                     {"proven", audit::is_proven(audit)},
                     {"witness", witness_json(audit.witness)},
                     {"reason", audit.verdict.reason},
                     {"next", audit::next_action(audit)},
                     {"status", audit::exit_status(audit)},
                     {"rules", std::move(rules)},
                     {"ways_off", ways_off_json(audit.ways_off)},
                     {"ways_off_hidden", audit.ways_off_hidden},
                     {"power_keys", power_keys_json(audit.power_keys)}};
    return json_text("nightlatch-audit", 1, whole);
}

}  // namespace nightlatch::tool
