// SPDX-License-Identifier: MIT
#pragma once

#include <string>

namespace nightlatch {

/// The name of the account that the service runs as: the build's NIGHTLATCH_ACCOUNT, which the
/// unit, the rules and the policies in systemd/ are filled in with, too.
const std::string& service_account_name();

}  // namespace nightlatch
