// SPDX-License-Identifier: MIT
#pragma once

#include <string>
#include <string_view>

namespace nightlatch::facts {

/// The device-tree path of a device's folder in sysfs, by its link of_node [linux
/// Documentation/ABI/testing/sysfs-devices, of_node]; empty when it has none.
std::string node_of_device(const std::string& root, const std::string& device);

/// "../../firmware/devicetree/base/soc/gpio@200" is "/soc/gpio@200", the base itself "/"; empty
/// when the link leads elsewhere.
std::string node_in_link(std::string_view target);

}  // namespace nightlatch::facts
