// SPDX-License-Identifier: MIT
#include "base/account.hpp"

namespace nightlatch {

const std::string& service_account_name() {
    static const std::string name(NIGHTLATCH_ACCOUNT);
    return name;
}

}  // namespace nightlatch
