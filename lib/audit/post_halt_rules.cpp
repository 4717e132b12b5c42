// SPDX-License-Identifier: MIT
#include "audit/rule.hpp"

namespace nightlatch::audit {

std::span<const Rule> post_halt_rules() {
    return {};
}

}  // namespace nightlatch::audit
