// SPDX-License-Identifier: MIT
#pragma once

#include "config/settings.hpp"

#include <string>

namespace nightlatch::tool {

/// What a configuration means, in words, for people: aligned, at most 100 columns where names
/// allow.
std::string summary(const config::Settings& settings);

}  // namespace nightlatch::tool
