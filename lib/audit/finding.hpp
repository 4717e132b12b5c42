// SPDX-License-Identifier: MIT
#pragma once

#include "base/severity.hpp"

#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace nightlatch::audit {

/// One thing that a rule found.
struct Finding {
    Severity severity = Severity::warning;
    std::string place;                  ///< node path, file:line, device: where it is; may be empty
    std::string sentence;               ///< what is wrong and what it leads to
    std::vector<std::string> evidence;  ///< what was read, where: "…/active-delay-ms = 100"
    std::string remedy;                 ///< what to do; several lines when it is text to paste
};

/// How a rule came out. Never a silent pass: what could not be seen is CannotTell.
struct Pass {
    std::string sentence;  ///< what was seen to be right
};

struct Found {
    std::vector<Finding> findings;  ///< one or more
};

struct NotApplicable {
    std::string why;
};

struct CannotTell {
    std::string missing;  ///< what would have to be known, and how to get it
};

using Judgement = std::variant<Pass, Found, NotApplicable, CannotTell>;

}  // namespace nightlatch::audit
