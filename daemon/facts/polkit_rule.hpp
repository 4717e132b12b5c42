// SPDX-License-Identifier: MIT
#pragma once

#include "base/known.hpp"

#include <string>

namespace nightlatch::facts {

/// Of an image, where no polkit answers: "yes" when our rule 50-nightlatch.rules, which grants both
/// power-off actions to the service's account, is in one of the folders that polkit reads
/// [polkit(8)]; else missing, for another rule may grant them.
Known<std::string> power_off_by_rule(const std::string& root);

}  // namespace nightlatch::facts
