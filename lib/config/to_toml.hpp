// SPDX-License-Identifier: MIT
#pragma once

#include "config/settings.hpp"

#include <string>
#include <string_view>

namespace nightlatch::config {

/// A text as a basic string, with its quotes [https://toml.io/en/v1.0.0#string]; the escapes beside
/// \" and \\ are those of safe(). The text is UTF-8.
std::string toml_string(std::string_view text);

/// The settings as a complete configuration, every key written out: load(to_toml(s)) gives s again
/// for every s that came from load().
std::string to_toml(const Settings& settings);

/// A [button] section to paste into a configuration: the line, the pressed level, and a bias where
/// one was asked for. The names must hold no control characters.
std::string button_block(const Button& button);

}  // namespace nightlatch::config
