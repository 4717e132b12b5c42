// SPDX-License-Identifier: MIT
#include "audit/report.hpp"

#include "base/text.hpp"

#include <algorithm>
#include <tuple>

namespace nightlatch::audit {
namespace {

constexpr unsigned step = 4;

struct Shown {
    const Rule* rule = nullptr;
    const Finding* finding = nullptr;
};

std::vector<Shown> worst_first(const Audit& audit) {
    std::vector<Shown> all;
    for (const RuleResult& result : audit.results) {
        const auto* const found = std::get_if<Found>(&result.judgement);
        for (std::size_t i = 0; found != nullptr && i < found->findings.size(); ++i) {
            all.push_back({result.rule, &found->findings[i]});
        }
    }
    // By what a finding is, not by where its rule stands: the order of rules shows nowhere.
    std::stable_sort(all.begin(), all.end(), [](const Shown& a, const Shown& b) {
        return std::tuple(a.finding->severity, a.rule->group, a.rule->id) <
               std::tuple(b.finding->severity, b.rule->group, b.rule->id);
    });
    return all;
}

using page::Page;
using page::Paint;

Paint paint_of(Severity severity) {
    switch (severity) {
    case Severity::error:
        return Paint::bad;
    case Severity::warning:
        return Paint::doubtful;
    case Severity::note:
        return Paint::bold;
    }
    return Paint::bold;
}

Paint paint_of(core::Verdict verdict) {
    switch (verdict) {
    case core::Verdict::configured:
        return Paint::good;
    case core::Verdict::contradicted:
    case core::Verdict::absent:
        return Paint::bad;
    case core::Verdict::cannot_tell:
        return Paint::doubtful;
    }
    return Paint::bold;
}

void add_head(Page& page, const Audit& audit) {
    // What only a running kernel knows is left out of account, which is not a fifth verdict.
    const bool by_files =
        audit.source != Source::live && audit.verdict.verdict == core::Verdict::configured;
    const std::string_view verdict = by_files           ? "configured, as far as files show"
                                     : is_proven(audit) ? "proven"
                                                        : core::text_of(audit.verdict.verdict);
    page.raw("verdict: " + page.painted(verdict, paint_of(audit.verdict.verdict)) + "\n");
    page.paragraph(std::string(step, ' '), audit.verdict.reason, step);
    if (audit.witness) {
        page.paragraph(std::string(step, ' '), sentence_of(*audit.witness), step);
    }
    page.paragraph("next: ", next_action(audit), 6);
    if (audit.source == Source::image) {
        page.paragraph("", "of " + audit.where + ": no live facts", step);
    } else if (audit.source == Source::files) {
        page.paragraph("", "of " + audit.where + ": the device tree only, no live facts", step);
    }
}

void add_finding(Page& page, const Shown& shown) {
    const Finding& finding = *shown.finding;
    page.raw("\n" + page.painted(text_of(finding.severity), paint_of(finding.severity)) + " " +
             std::string(shown.rule->id) +
             (finding.place.empty() ? "" : "  " + safe(finding.place)) + "\n");
    page.paragraph(std::string(step, ' '), finding.sentence, step);
    for (const std::string& line : finding.evidence) {
        page.paragraph(std::string(step, ' ') + "seen: ", line, step + 6);
    }
    if (finding.remedy.empty()) {
        return;
    }
    if (finding.remedy.find('\n') == std::string::npos) {
        page.paragraph(std::string(step, ' ') + "do: ", finding.remedy, step + step);
    } else {
        page.raw(std::string(step, ' ') + "do:\n");
        page.block(finding.remedy, step + step);
    }
}

std::string entry(const WayOff& way) {
    std::string text = way.what + (way.place.empty() ? "" : " at " + way.place) + ": ";
    if (way.turn == Turn::never || way.turn == Turn::unknown) {
        return text + std::string(text_of(way.turn));
    }
    text += text_of(way.standing);
    return way.turn == Turn::ours ? text : text + ", " + std::string(text_of(way.turn));
}

/// A list belongs to a rule's subject, so it is shown where that rule is.
bool shows(const Audit& audit, std::string_view id) {
    return std::any_of(audit.results.begin(), audit.results.end(), [&](const RuleResult& result) {
        return result.rule->id == id;
    });
}

void add_power_keys(Page& page, const Audit& audit) {
    if (!shows(audit, "power-key-listener") || audit.power_keys.empty()) {
        return;
    }
    page.raw("\nwho listens to the power keys\n");
    for (const HeardKey& key : audit.power_keys) {
        const PowerKeySource& source = key.source;
        page.paragraph(std::string(step, ' '),
                       source.device + " " + in_quotes(source.name) + ", " +
                           std::string(text_of(kind_of(source))) +
                           (source.driver.empty() ? "" : ", driver " + source.driver) + ": " +
                           key.heard,
                       step + 2);
    }
}

void add_ways_off(Page& page, const Audit& audit) {
    if (!shows(audit, "post-halt-first") || audit.ways_off.empty()) {
        return;
    }
    page.raw("\n");
    page.paragraph(
        "", "who switches off, first to last (inferred: the kernel shows no such list)", step);
    std::size_t number = 0;
    for (const WayOff& way : audit.ways_off) {
        const bool placed = way.turn != Turn::never && way.turn != Turn::unknown;
        page.paragraph(std::string(step, ' ') + (placed ? std::to_string(++number) : "-") + " ",
                       entry(way),
                       step + 2);
        page.paragraph(std::string(step + 2, ' ') + "seen: ", way.inferred, step + step);
    }
    page.paragraph(
        std::string(step, ' ') + "there could also be ", audit.ways_off_hidden, step + 2);
}

/// What only a running board knows is a number, unless all is asked for.
void add_folded(Page& page, const Audit& audit, bool all) {
    const auto folded =
        std::count_if(audit.results.begin(), audit.results.end(), [](const RuleResult& result) {
            const auto* const unknown = std::get_if<CannotTell>(&result.judgement);
            return unknown != nullptr && unknown->missing.ends_with(only_running);
        });
    if (folded > 0 && !all) {
        page.raw("\n");
        page.paragraph("",
                       counted(static_cast<std::uint64_t>(folded), "check") +
                           (folded == 1 ? " needs" : " need") + " a running board; --all names " +
                           (folded == 1 ? "it" : "them"),
                       step);
    }
}

/// Several rules often miss the same thing: one entry names them all.
void add_unknown(Page& page, const Audit& audit, bool all) {
    std::vector<std::pair<std::string, std::string>> groups;  // what is missing, rules
    add_folded(page, audit, all);
    for (const RuleResult& result : audit.results) {
        const auto* const unknown = std::get_if<CannotTell>(&result.judgement);
        if (unknown == nullptr || (!all && unknown->missing.ends_with(only_running))) {
            continue;
        }
        const auto it = std::find_if(groups.begin(), groups.end(), [&](const auto& group) {
            return group.first == unknown->missing;
        });
        if (it == groups.end()) {
            groups.emplace_back(unknown->missing, result.rule->id);
        } else {
            it->second += ", " + std::string(result.rule->id);
        }
    }
    if (groups.empty()) {
        return;
    }
    page.raw("\ncannot tell, because this is missing\n");
    for (const auto& [missing, rules] : groups) {
        page.paragraph(std::string(step, ' '), missing, step);
        page.paragraph(std::string(step + step, ' ') + "for ", rules, step + step + step);
    }
}

template <class Kind>
std::vector<const RuleResult*> of_kind(const Audit& audit) {
    std::vector<const RuleResult*> found;
    for (const RuleResult& result : audit.results) {
        if (std::holds_alternative<Kind>(result.judgement)) {
            found.push_back(&result);
        }
    }
    return found;
}

std::string checks(std::size_t count, std::string_view what) {
    return counted(count, "check") + " " + std::string(what);
}

void add_rest(Page& page, const Audit& audit, bool all) {
    const auto passed = of_kind<Pass>(audit);
    const auto other = of_kind<NotApplicable>(audit);
    page.raw("\n");
    if (!all) {
        std::string line = checks(passed.size(), "passed");
        if (!other.empty()) {
            line += ", " + std::to_string(other.size()) +
                    (other.size() == 1 ? " does not apply" : " do not apply");
        }
        page.paragraph("", line + "; --all shows them", step);
        return;
    }
    page.raw(checks(passed.size(), "passed") + "\n");
    for (const RuleResult* const result : passed) {
        page.paragraph(std::string(step, ' ') + std::string(result->rule->id) + ": ",
                       std::get<Pass>(result->judgement).sentence,
                       step + step);
    }
    page.raw(checks(other.size(), other.size() == 1 ? "does not apply" : "do not apply") + "\n");
    for (const RuleResult* const result : other) {
        page.paragraph(std::string(step, ' ') + std::string(result->rule->id) + ": ",
                       std::get<NotApplicable>(result->judgement).why,
                       step + step);
    }
}

}  // namespace

std::string next_action(const Audit& audit) {
    const std::vector<Shown> findings = worst_first(audit);
    if (!findings.empty() && findings.front().finding->severity == Severity::error) {
        return "fix " + std::string(findings.front().rule->id) +
               " as described below, then audit again";
    }
    switch (audit.verdict.verdict) {
    case core::Verdict::absent:
    case core::Verdict::contradicted:
        return "see what is wrong: audit without --only and --skip";
    case core::Verdict::cannot_tell:
        return "find out what is missing, state or allow it, then audit again";
    case core::Verdict::configured:
        break;
    }
    if (!findings.empty() && findings.front().finding->severity == Severity::warning) {
        return "read what is said below under " + std::string(findings.front().rule->id);
    }
    if (audit.source != Source::live) {
        return "audit again on the running unit";
    }
    if (is_proven(audit)) {
        return "nothing; audit again after each upgrade of the kernel";
    }
    return "hold the button, let go, and watch the supply disconnect; after the next start write "
           "it down: sudo nightlatch logbook --witnessed \"rail to 0 V, 2.1 s\"";
}

std::string to_text(const Audit& audit, const ReportStyle& style) {
    Page page(style.page);
    add_head(page, audit);
    for (const Shown& shown : worst_first(audit)) {
        add_finding(page, shown);
    }
    add_ways_off(page, audit);
    add_power_keys(page, audit);
    add_unknown(page, audit, style.all);
    add_rest(page, audit, style.all);
    return page.str();
}

std::string explain(const Rule& rule, const page::Style& style) {
    Page page(style);
    page.raw(std::string(rule.id) + " (" + std::string(text_of(rule.group)) + ")\n");
    page.paragraph(std::string(step, ' '), std::string(rule.title) + ".", step);
    page.raw("\n");
    page.paragraph(std::string(step, ' '), rule.rationale, step);
    if (!rule.needs.empty()) {
        std::string needs;
        for (const std::string_view need : rule.needs) {
            needs += (needs.empty() ? "" : ", ") + std::string(need);
        }
        page.raw("\n");
        page.paragraph(
            std::string(step, ' ') + "Judged only when these have passed: ", needs, step);
    }
    return page.str();
}

int exit_status(const Audit& audit) {
    if (audit.bad_configuration) {
        return 2;
    }
    bool verdict_shown = false;
    for (const RuleResult& result : audit.results) {
        verdict_shown = verdict_shown || result.rule->group == Group::post_halt;
        // Not being able to tell is no good answer either: nobody should ship on it.
        if (audit.chosen && std::holds_alternative<CannotTell>(result.judgement)) {
            return 1;
        }
        const auto* const found = std::get_if<Found>(&result.judgement);
        if (found != nullptr &&
            std::any_of(found->findings.begin(), found->findings.end(), [](const Finding& finding) {
                return finding.severity != Severity::note;
            })) {
            return 1;
        }
    }
    return !audit.chosen && verdict_shown && audit.verdict.verdict != core::Verdict::configured ? 1
                                                                                                : 0;
}

}  // namespace nightlatch::audit
