// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"

#include <string>

namespace nightlatch::tool {

/// "   12.400 s": right-aligned, so that moments below one another line up.
std::string moment_text(Duration at);

/// "12.400 s".
std::string short_moment(Duration at);

}  // namespace nightlatch::tool
