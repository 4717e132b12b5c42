// SPDX-License-Identifier: MIT
#include "daemon/tool/audit/audit.hpp"

#include "audit/report.hpp"
#include "base/nearest.hpp"

#include <algorithm>
#include <cstdio>
#include <cstdlib>

#include <sys/ioctl.h>
#include <unistd.h>

namespace nightlatch::tool {
namespace {

constexpr int usage_error = 2;

/// As wide as the terminal, within what can be read; 80 where there is none.
audit::ReportStyle style_of(const AuditOptions& options) {
    audit::ReportStyle style;
    style.all = options.all;
    winsize size{};
    if (isatty(STDOUT_FILENO) == 1) {
        style.colour = std::getenv("NO_COLOR") == nullptr;
        if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0) {
            style.columns = std::clamp<unsigned>(size.ws_col, 60, 110);
        }
    }
    return style;
}

std::string unknown_rule(const std::string& id) {
    std::vector<std::string_view> ids;
    for (const audit::Rule* rule : audit::all_rules()) {
        ids.push_back(rule->id);
    }
    const auto near = nearest(id, ids);
    return "there is no rule \"" + id + "\"" +
           (near ? "; did you mean \"" + std::string(*near) + "\"?" : "") +
           " `nightlatch audit --rules` lists them";
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

void list_rules() {
    std::size_t widest = 0;
    for (const audit::Rule* rule : audit::all_rules()) {
        widest = std::max(widest, rule->id.size());
    }
    for (const audit::Rule* rule : audit::all_rules()) {
        std::printf("%-*.*s  %.*s\n",
                    static_cast<int>(widest),
                    static_cast<int>(rule->id.size()),
                    rule->id.data(),
                    static_cast<int>(rule->title.size()),
                    rule->title.data());
    }
}

int complain(const std::string& text) {
    std::fprintf(stderr, "nightlatch: %s\n", text.c_str());
    return usage_error;
}

}  // namespace

int run_audit(const AuditOptions& options) {
    if (const std::string id = first_unknown(options); !id.empty()) {
        return complain(unknown_rule(id));
    }
    if (options.rules) {
        list_rules();
        return 0;
    }
    const audit::ReportStyle style = style_of(options);
    if (!options.explain.empty()) {
        std::fputs(explain(*audit::find_rule(options.explain), style.columns).c_str(), stdout);
        return 0;
    }
    const auto facts = gather(options);
    if (!facts) {
        return complain(facts.error().text);
    }
    const audit::Audit audit = audit::run(*facts, options.choice);
    std::fputs((options.json ? audit_json(audit) : to_text(audit, style)).c_str(), stdout);
    return exit_status(audit);
}

}  // namespace nightlatch::tool
