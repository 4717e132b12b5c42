// SPDX-License-Identifier: MIT
#include "daemon/facts/deferred.hpp"

#include "daemon/facts/files.hpp"
#include "daemon/facts/of_node.hpp"

#include <algorithm>
#include <cctype>

namespace nightlatch::facts {
namespace {

constexpr const char* list = "/sys/kernel/debug/devices_deferred";
constexpr const char* buses = "/sys/bus";
/// Where the lines' and the post-halt node's own devices are.
constexpr std::string_view waiting_buses[] = {"platform", "i2c", "spi"};

std::string folder_of(std::string_view bus) {
    return std::string(buses) + "/" + std::string(bus) + "/devices/";
}

/// On whichever bus the device is; empty when none has it or it has no node.
std::string node_on(const std::string& root,
                    const std::vector<std::string>& all,
                    const std::string& device) {
    std::string node;
    for (auto bus = all.begin(); node.empty() && bus != all.end(); ++bus) {
        node = node_of_device(root, folder_of(*bus) + device);
    }
    return node;
}

std::vector<std::string> nodes_of(const std::string& root,
                                  const std::vector<std::string>& devices) {
    std::vector<std::string> nodes;
    const Read<std::vector<std::string>> all = names_in(root, buses);
    if (!all) {
        return nodes;
    }
    for (const std::string& device : devices) {
        nodes.push_back(node_on(root, *all, device));
    }
    std::erase(nodes, "");
    return nodes;
}

/// The node of a device that waits; empty when it does not.
std::string waiting_node(const std::string& root, const std::string& folder) {
    const Read<long long> waits = read_number(root, folder + "/waiting_for_supplier");
    return waits && *waits == 1 ? node_of_device(root, folder) : std::string{};
}

std::vector<std::string> waiting_nodes(const std::string& root) {
    std::vector<std::string> nodes;
    for (const std::string_view bus : waiting_buses) {
        const Read<std::vector<std::string>> devices = names_in(root, folder_of(bus));
        for (const std::string& device : devices ? *devices : std::vector<std::string>{}) {
            nodes.push_back(waiting_node(root, folder_of(bus) + device));
        }
    }
    std::erase(nodes, "");
    return nodes;
}

}  // namespace

std::vector<std::string> deferred_devices(std::string_view text) {
    std::vector<std::string> devices;
    for (const std::string& line : lines_of(text)) {
        // Continuations of a reason begin with white space; a device's name has no '/'.
        if (line.empty() || std::isspace(static_cast<unsigned char>(line.front())) != 0) {
            continue;
        }
        std::string device = line.substr(0, line.find('\t'));
        if (device.find('/') == std::string::npos && device != "..") {
            devices.push_back(std::move(device));
        }
    }
    return devices;
}

Known<std::vector<std::string>> read_deferred(const std::string& root) {
    if (const Read<std::string> text = read_file(root, list)) {
        return nodes_of(root, deferred_devices(*text));
    }
    std::vector<std::string> waiting = waiting_nodes(root);
    if (!waiting.empty()) {
        return waiting;
    }
    return Known<std::vector<std::string>>::missing(
        "the kernel's list of waiting devices (run as root, with debugfs mounted: " +
        std::string(list) + ")");
}

}  // namespace nightlatch::facts
