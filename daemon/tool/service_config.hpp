// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"

#include <optional>
#include <string>

namespace nightlatch::tool {

/// The configuration that the service reads.
constexpr const char* default_config = "/etc/nightlatch/nightlatch.toml";

/// Its text: this machine's ("") or that of the image below the folder `root`. In an image links
/// lead nowhere out of it.
Result<std::string> read_service_config(const std::string& root);

/// Why the service would refuse that file: others than root may write it, or its folder.
std::optional<std::string> why_service_refuses(const std::string& root);

}  // namespace nightlatch::tool
