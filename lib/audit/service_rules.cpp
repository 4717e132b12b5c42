// SPDX-License-Identifier: MIT
#include "audit/rule.hpp"

namespace nightlatch::audit {

std::span<const Rule> service_rules() {
    return {};
}

}  // namespace nightlatch::audit
