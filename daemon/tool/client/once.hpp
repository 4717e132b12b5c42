// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"
#include "daemon/tool/client/client.hpp"

#include <optional>
#include <string>

namespace nightlatch::tool {

/// How the service stands at a moment.
struct SeenOnce {
    std::optional<ServiceState> state;  ///< nothing: `absent` and `detail` say why
    Absent absent = Absent::no_service;
    std::string detail;
    Instant now{};
};

/// Asks, and waits for the answer, answer_limit at most.
Result<SeenOnce> see_once();

}  // namespace nightlatch::tool
