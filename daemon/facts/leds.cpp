// SPDX-License-Identifier: MIT
#include "daemon/facts/leds.hpp"

#include "daemon/facts/account.hpp"
#include "daemon/facts/of_node.hpp"

namespace nightlatch::facts {
namespace {

constexpr const char* leds = "/sys/class/leds";

Known<bool> writable(const std::string& root,
                     const Known<Account>& account,
                     const std::string& folder) {
    if (!account) {
        return Known<bool>::missing(account.what_is_missing());
    }
    for (const char* file : {"/brightness", "/trigger"}) {
        const Read<FileStatus> status = status_of(root, folder + file);
        if (!status) {
            return Known<bool>::missing(status.error().text);
        }
        if (!may_write(*account, *status)) {
            return false;
        }
    }
    return true;
}

}  // namespace

std::vector<std::string> triggers_in(std::string_view text) {
    std::vector<std::string> names = words_of(text);
    for (std::string& name : names) {
        if (name.size() > 2 && name.front() == '[' && name.back() == ']') {
            name = name.substr(1, name.size() - 2);
        }
    }
    return names;
}

Known<std::vector<audit::LedFacts>> read_leds(const std::string& root) {
    const Read<std::vector<std::string>> names = class_devices(root, "leds");
    if (!names) {
        return Known<std::vector<audit::LedFacts>>::missing(names.error().text);
    }
    const Known<Account> account = read_service_account(root);
    std::vector<audit::LedFacts> found;
    for (const std::string& name : *names) {
        const std::string folder = std::string(leds) + "/" + name;
        audit::LedFacts led;
        led.name = name;
        led.node = node_of_device(root, folder);
        if (led.node.empty()) {
            // Of older kernels only the parent, all of its LEDs together, has a node.
            led.node = node_of_device(root, folder + "/device");
        }
        led.writable_by_service = writable(root, account, folder);
        // More than a page: there is a trigger for every processor and every disk.
        if (const Read<std::string> text = read_file(root, folder + "/trigger")) {
            led.triggers = triggers_in(*text);
        }
        found.push_back(std::move(led));
    }
    return found;
}

}  // namespace nightlatch::facts
