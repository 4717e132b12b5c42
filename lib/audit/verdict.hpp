// SPDX-License-Identifier: MIT
#pragma once

#include "audit/audit.hpp"

#include <span>

namespace nightlatch::audit {

/// The verdict that the post-halt rules' results make together. Results of other groups count for
/// nothing.
VerdictResult verdict_of(std::span<const RuleResult> results);

}  // namespace nightlatch::audit
