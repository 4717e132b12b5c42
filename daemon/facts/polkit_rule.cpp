// SPDX-License-Identifier: MIT
#include "daemon/facts/polkit_rule.hpp"

#include "base/account.hpp"
#include "base/text.hpp"
#include "daemon/facts/files.hpp"

namespace nightlatch::facts {
namespace {

constexpr std::string_view folders[] = {"/etc/polkit-1/rules.d",
                                        "/run/polkit-1/rules.d",
                                        "/usr/local/share/polkit-1/rules.d",
                                        "/usr/share/polkit-1/rules.d"};
constexpr const char* rule = "/50-nightlatch.rules";

}  // namespace

Known<std::string> power_off_by_rule(const std::string& root) {
    const std::string named = in_quotes(service_account_name());
    std::string where;
    for (const std::string_view folder : folders) {
        const Read<std::string> text = read_file(root, std::string(folder) + rule);
        if (text && text->find(named) != std::string::npos) {
            return std::string("yes");
        }
        where += (where.empty() ? "" : ", ") + std::string(folder);
    }
    return Known<std::string>::missing("polkit's rule 50-nightlatch.rules for the account " +
                                       service_account_name() + " (in none of " + where +
                                       "; another rule may grant the same)");
}

}  // namespace nightlatch::facts
