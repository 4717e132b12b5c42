// SPDX-License-Identifier: MIT
#pragma once

#include <string>
#include <string_view>

namespace nightlatch::tool {

/// The second polkit rule, which lets the service go past other programs' inhibitor locks.
struct OverrideRule {
    enum class State : unsigned char {
        absent,
        installed,
        cannot_tell,  ///< a folder of rules may not be read
    };

    State state = State::absent;
    std::string where;  ///< the rule's file, or the folder that may not be read
};

/// Does the text of a rule file let our service pass inhibitors? By what it says and not by its
/// name, so that a renamed copy is found; what stands in comments does not count.
bool grants_override(std::string_view rule);

/// Looks through the folders that polkit reads [polkit(8)], below `root` ("" for this machine).
OverrideRule find_override_rule(const std::string& root);

}  // namespace nightlatch::tool
