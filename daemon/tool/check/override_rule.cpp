// SPDX-License-Identifier: MIT
#include "daemon/tool/check/override_rule.hpp"

#include "base/account.hpp"
#include "daemon/facts/files.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::tool {
namespace {

/// /run and /usr/local only since polkit 126; looking there does no harm before.
constexpr std::array<std::string_view, 4> folders{"/etc/polkit-1/rules.d",
                                                  "/run/polkit-1/rules.d",
                                                  "/usr/local/share/polkit-1/rules.d",
                                                  "/usr/share/polkit-1/rules.d"};

std::string without_comments(std::string_view text) {
    std::string code;
    while (!text.empty()) {
        const std::size_t at = text.find('/');
        code += text.substr(0, at);
        text.remove_prefix(std::min(at, text.size()));
        if (text.starts_with("//")) {
            text.remove_prefix(std::min(text.find('\n'), text.size()));
        } else if (text.starts_with("/*")) {
            const std::size_t end = text.find("*/", 2);
            text.remove_prefix(end == std::string_view::npos ? text.size() : end + 2);
        } else if (!text.empty()) {
            code += text.front();
            text.remove_prefix(1);
        }
    }
    return code;
}

/// Nothing when the folder is not there.
OverrideRule look_in(const std::string& root, const std::string& folder, facts::Budget& budget) {
    const auto names = facts::names_in(root, folder);
    if (!names) {
        return names.error().absent()
                   ? OverrideRule{}
                   : OverrideRule{OverrideRule::State::cannot_tell, root + folder};
    }
    OverrideRule result;
    for (const std::string& name : *names) {
        if (!name.ends_with(".rules")) {
            continue;
        }
        const std::string file = std::string(folder).append("/").append(name);
        const auto text = budget.read(root, file);
        if (text && grants_override(*text)) {
            return {OverrideRule::State::installed, root + file};
        }
        if (!text) {
            result = {OverrideRule::State::cannot_tell, root + file};
        }
    }
    return result;
}

}  // namespace

bool grants_override(std::string_view rule) {
    const std::string code = without_comments(rule);
    const auto says = [&code](std::string_view what) {
        return code.find(what) != std::string::npos;
    };
    const std::string& account = service_account_name();
    return says("-ignore-inhibit") && (says('"' + account + '"') || says("'" + account + "'"));
}

OverrideRule find_override_rule(const std::string& root) {
    OverrideRule result;
    facts::Budget budget = facts::usual_budget();
    for (const std::string_view folder : folders) {
        OverrideRule here = look_in(root, std::string(folder), budget);
        if (here.state == OverrideRule::State::installed) {
            return here;
        }
        if (here.state == OverrideRule::State::cannot_tell) {
            result = std::move(here);
        }
    }
    return result;
}

}  // namespace nightlatch::tool
