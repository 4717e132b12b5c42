// SPDX-License-Identifier: MIT
#include "daemon/facts/driver.hpp"

#include "daemon/facts/files.hpp"
#include "daemon/facts/of_node.hpp"

#include <algorithm>
#include <array>
#include <string_view>

namespace nightlatch::facts {
namespace {

constexpr const char* drivers = "/sys/bus/platform/drivers";
constexpr const char* driver = "/sys/bus/platform/drivers/poweroff-gpio";

/// What a driver's folder holds beside its devices [linux drivers/base/bus.c, module.c].
constexpr std::array<std::string_view, 4> no_devices{"bind", "unbind", "uevent", "module"};

}  // namespace

audit::PostHaltDriver read_post_halt_driver(const std::string& root) {
    audit::PostHaltDriver found;
    const Read<std::vector<std::string>> entries = names_in(root, driver);
    // Without sysfs every driver would seem to be left out of the kernel.
    const Read<std::vector<std::string>> all = entries ? entries : names_in(root, drivers);
    if (!all) {
        found.registered = Known<bool>::missing(all.error().text);
        found.bound = Known<std::vector<std::string>>::missing(all.error().text);
        return found;
    }
    if (!entries && !entries.error().absent()) {
        found.registered = true;
        found.bound = Known<std::vector<std::string>>::missing(entries.error().text);
        return found;
    }
    found.registered = entries.has_value();
    std::vector<std::string> bound;
    for (const std::string& name : entries ? *entries : std::vector<std::string>{}) {
        if (std::find(no_devices.begin(), no_devices.end(), name) == no_devices.end()) {
            bound.push_back(node_of_device(root, std::string(driver) + "/" + name));
        }
    }
    std::erase(bound, "");
    found.bound = std::move(bound);
    return found;
}

}  // namespace nightlatch::facts
