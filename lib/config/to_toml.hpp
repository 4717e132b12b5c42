// SPDX-License-Identifier: MIT
#pragma once

#include "config/settings.hpp"

#include <string>

namespace nightlatch::config {

/// The settings as a complete configuration, every key written out: load(to_toml(s)) gives s again
/// for every s that came from load().
std::string to_toml(const Settings& settings);

/// A [button] section to paste into a configuration: the line, the pressed level, and a bias where
/// one was asked for. The names must hold no control characters.
std::string button_block(const Button& button);

}  // namespace nightlatch::config
