// SPDX-License-Identifier: MIT
#include "devicetree/chip_label.hpp"

#include "base/text.hpp"
#include "devicetree/values.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::devicetree {
namespace {

using Cells = std::vector<std::uint32_t>;

/// Drivers that give their chips a name of their own. Read in linux 6.12, in the file named.
struct OwnLabel {
    const char* compatible;
    const char* label;
};

constexpr std::array own_labels{
    OwnLabel{"brcm,bcm2835-gpio", "pinctrl-bcm2835"},  // drivers/pinctrl/bcm/pinctrl-bcm2835.c
    OwnLabel{"brcm,bcm2711-gpio", "pinctrl-bcm2711"},
    OwnLabel{"brcm,bcm7211-gpio", "pinctrl-bcm2711"},
    OwnLabel{"raspberrypi,rp1-gpio", "pinctrl-rp1"},  // drivers/pinctrl/pinctrl-rp1.c, from 6.16
    OwnLabel{"raspberrypi,firmware-gpio", "raspberrypi-exp-gpio"},  // gpio-raspberrypi-exp.c
    OwnLabel{"nvidia,tegra186-gpio", "tegra186-gpio"},              // drivers/gpio/gpio-tegra186.c
    OwnLabel{"nvidia,tegra186-gpio-aon", "tegra186-gpio-aon"},
    OwnLabel{"nvidia,tegra194-gpio", "tegra194-gpio"},
    OwnLabel{"nvidia,tegra194-gpio-aon", "tegra194-gpio-aon"},
    OwnLabel{"nvidia,tegra234-gpio", "tegra234-gpio"},
    OwnLabel{"nvidia,tegra234-gpio-aon", "tegra234-gpio-aon"},
    OwnLabel{"nvidia,tegra20-gpio", "tegra-gpio"},  // drivers/gpio/gpio-tegra.c
    OwnLabel{"nvidia,tegra30-gpio", "tegra-gpio"},
    OwnLabel{"xlnx,zynq-gpio-1.0", "zynq_gpio"},  // drivers/gpio/gpio-zynq.c
    OwnLabel{"xlnx,zynqmp-gpio-1.0", "zynqmp_gpio"},
};

std::optional<std::string> own_label(const Tree& tree, NodeId node) {
    const std::string* const value = tree.value(node, "compatible");
    // The first that has a driver counts, so the order is the node's.
    for (const std::string& name :
         value == nullptr ? std::vector<std::string>{} : strings_of(*value)) {
        const auto it = std::find_if(own_labels.begin(),
                                     own_labels.end(),
                                     [&](const OwnLabel& one) { return name == one.compatible; });
        if (it != own_labels.end()) {
            return it->label;
        }
    }
    return std::nullopt;
}

/// "gpio3" of /aliases.
std::optional<std::string> alias_of(const Tree& tree, NodeId node) {
    const NodeId aliases = tree.find("/aliases");
    const std::string value = tree.path_of(node) + '\0';
    for (const Property& property :
         aliases == no_node ? std::vector<Property>{} : tree.node(aliases).properties) {
        const bool numbered =
            property.name.starts_with("gpio") && all_digits(property.name.substr(4));
        if (numbered && property.value == value) {
            return property.name;
        }
    }
    return std::nullopt;
}

/// Banks below a pin controller take their name from it, or from themselves.
std::optional<std::string> bank_label(const Tree& tree, NodeId node) {
    if (auto name = text(tree, node, "st,bank-name")) {
        return name;  // "GPIOA": drivers/pinctrl/stm32/pinctrl-stm32.c
    }
    if (is_compatible(tree, node, "rockchip,gpio-bank")) {
        return alias_of(tree, node);  // "gpio0": drivers/gpio/gpio-rockchip.c
    }
    const NodeId above = tree.node(node).parent;
    const std::string parent = above == no_node ? "" : text(tree, above, "compatible").value_or("");
    if (parent.starts_with("samsung,") && parent.ends_with("-pinctrl")) {
        const std::string& name = tree.node(node).name;  // "gpa0-gpio-bank", before that "gpa0"
        return name.substr(0,
                           name.find("-gpio-bank"));  // drivers/pinctrl/samsung/pinctrl-samsung.c
    }
    for (const char* const bus : {"periphs", "aobus", "cbus"}) {
        if (parent.starts_with("amlogic,meson") &&
            parent.find("-" + std::string(bus) + "-pinctrl") != std::string::npos) {
            return std::string(bus) + "-banks";  // drivers/pinctrl/meson/pinctrl-meson*.c
        }
    }
    return std::nullopt;
}

std::uint64_t number_of(const Cells& cells, std::size_t at, std::size_t count) {
    std::uint64_t number = 0;
    for (std::size_t i = 0; i < count; ++i) {
        number = (number << 32U) | cells[at + i];
    }
    return number;
}

/// What a bus makes of an address below it [Devicetree Specification 0.4, 2.3.8]; nothing where it
/// hands none on.
std::optional<std::uint64_t> through_bus(const Tree& tree, NodeId bus, std::uint64_t address) {
    const std::string* const value = tree.value(bus, "ranges");
    const NodeId above = tree.node(bus).parent;
    if (value == nullptr || above == no_node) {
        return std::nullopt;
    }
    if (value->empty()) {
        return address;
    }
    const std::optional<Cells> rows = cells_of(*value);
    const std::size_t child = cell(tree, bus, "#address-cells").value_or(2);
    const std::size_t parent = cell(tree, above, "#address-cells").value_or(2);
    const std::size_t size = cell(tree, bus, "#size-cells").value_or(1);
    if (!rows || child == 0 || child > 2 || parent == 0 || parent > 2 || size > 2) {
        return std::nullopt;
    }
    const std::size_t step = child + parent + size;
    for (std::size_t at = 0; at + step <= rows->size(); at += step) {
        const std::uint64_t first = number_of(*rows, at, child);
        if (address >= first && address - first < number_of(*rows, at + child + parent, size)) {
            return number_of(*rows, at + child, parent) + (address - first);
        }
    }
    return std::nullopt;
}

std::optional<std::uint64_t> address_of(const Tree& tree, NodeId node) {
    const NodeId bus = tree.node(node).parent;
    const std::string* const value = tree.value(node, "reg");
    const auto cells = value == nullptr ? std::nullopt : cells_of(*value);
    const std::size_t count = bus == no_node ? 0 : cell(tree, bus, "#address-cells").value_or(2);
    if (!cells || count == 0 || count > 2 || cells->size() < count) {
        return std::nullopt;
    }
    std::optional<std::uint64_t> address = number_of(*cells, 0, count);
    for (NodeId at = bus; address && at != root; at = tree.node(at).parent) {
        address = through_bus(tree, at, *address);
    }
    return address;
}

}  // namespace

std::optional<std::string> device_name(const Tree& tree, NodeId node) {
    const std::optional<std::uint64_t> address = address_of(tree, node);
    const std::string& name = tree.node(node).name;
    return address ? std::optional(hex(*address) + "." + name.substr(0, name.find('@')))
                   : std::nullopt;
}

std::vector<std::string> chip_labels(const Tree& tree, NodeId controller) {
    for (const auto& label : {own_label(tree, controller), bank_label(tree, controller)}) {
        if (label) {
            return {*label};
        }
    }
    std::vector<std::string> labels;
    if (const auto name = device_name(tree, controller)) {
        labels.push_back(*name);
    }
    // Where a bus is not understood the unit address mostly is the address.
    const std::string& name = tree.node(controller).name;
    const std::size_t at = name.find('@');
    if (at != std::string::npos) {
        std::string by_unit = name.substr(at + 1) + "." + name.substr(0, at);
        if (std::find(labels.begin(), labels.end(), by_unit) == labels.end()) {
            labels.push_back(std::move(by_unit));
        }
    }
    return labels;
}

std::optional<std::uint32_t> line_count(const Tree& tree, NodeId controller) {
    if (const auto count = cell(tree, controller, "ngpios")) {
        return count;
    }
    const std::string* const value = tree.value(controller, "gpio-ranges");
    const std::optional<Cells> rows = value == nullptr ? std::nullopt : cells_of(*value);
    std::uint32_t end = 0;
    for (std::size_t at = 0; rows && at + 4 <= rows->size(); at += 4) {
        if ((*rows)[at + 3] == 0) {
            return std::nullopt;  // a group by its name: its size is the driver's
        }
        end = std::max(end, (*rows)[at + 1] + (*rows)[at + 3]);
    }
    return end > 0 ? std::optional(end) : std::nullopt;
}

}  // namespace nightlatch::devicetree
