// SPDX-License-Identifier: MIT
#include "daemon/facts/driver.hpp"

#include "daemon/facts/files.hpp"
#include "daemon/facts/of_node.hpp"

namespace nightlatch::facts {
namespace {

constexpr const char* drivers = "/sys/bus/platform/drivers";
constexpr const char* driver = "/sys/bus/platform/drivers/poweroff-gpio";

}  // namespace

audit::PostHaltDriver read_post_halt_driver(const std::string& root) {
    audit::PostHaltDriver found;
    // Without sysfs every driver would seem to be left out of the kernel.
    const Read<std::vector<std::string>> all = names_in(root, drivers);
    if (!all) {
        found.registered = Known<bool>::missing(all.error().text);
        found.bound = Known<std::vector<std::string>>::missing(all.error().text);
        return found;
    }
    const Read<std::vector<std::string>> entries = names_in(root, driver);
    if (!entries && !entries.error().absent()) {
        found.registered = true;
        found.bound = Known<std::vector<std::string>>::missing(entries.error().text);
        return found;
    }
    found.registered = entries.has_value();
    std::vector<std::string> bound;
    for (const std::string& name : entries ? *entries : std::vector<std::string>{}) {
        bound.push_back(node_of_device(root, std::string(driver) + "/" + name));
    }
    std::erase(bound, "");  // its other entries, say the link to its module
    found.bound = std::move(bound);
    return found;
}

}  // namespace nightlatch::facts
