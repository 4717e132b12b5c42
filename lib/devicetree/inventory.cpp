// SPDX-License-Identifier: MIT
#include "devicetree/inventory.hpp"

#include "devicetree/led_name.hpp"
#include "devicetree/values.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::devicetree {
namespace {

constexpr std::string_view power_controller = "system-power-controller";

/// Buses whose transfers sleep: I2C, I3C, SPI, Allwinner's RSB, SLIMbus, MDIO. Not SPMI: the
/// drivers of the GPIO controllers on it do not sleep [linux
/// drivers/pinctrl/qcom/pinctrl-spmi-gpio.c].
constexpr std::array<std::string_view, 6> slow_buses{"i2c", "i3c", "spi", "rsb", "slim", "mdio"};

/// A bus is named for what it is ("i2c@7e804000", "i2c0mux", "spi-gpio"; Devicetree Specification
/// 2.2.2) and numbers its devices without a size. That leaves out what only shares the name: a
/// device ("spidev@0"), a group of pins ("i2c0-pins"). A bus by another name is not recognised,
/// nor is a controller on USB, which the tree does not have.
bool is_slow_bus(const Tree& tree, NodeId node) {
    const std::string& name = tree.node(node).name;
    return std::any_of(slow_buses.begin(),
                       slow_buses.end(),
                       [&](std::string_view bus) { return name.starts_with(bus); }) &&
           cell(tree, node, "#size-cells") == 0U;
}

/// Its lines are reached by messages to the firmware, no bus at all
/// [linux drivers/gpio/gpio-raspberrypi-exp.c, can_sleep].
bool waits_for_firmware(const Tree& tree, NodeId node) {
    return is_compatible(tree, node, "raspberrypi,firmware-gpio");
}

/// Tables of labels and aliases: their properties have any name and are paths, not lines.
bool is_table(const Tree& tree, NodeId node) {
    const std::string& name = tree.node(node).name;
    return tree.node(node).parent == root && (name.starts_with("__") || name == "aliases");
}

std::optional<GpioLine> line_of(const GpioEntry& entry) {
    return entry ? std::optional(*entry) : std::nullopt;
}

/// What the names of a node's properties say it is; so each is looked at once.
struct Marks {
    bool controller = false;
    bool hog = false;
    bool power_controller = false;
    std::vector<const std::string*> lines;  ///< properties that name lines
};

Marks marks_of(const Node& node) {
    Marks marks;
    for (const Property& property : node.properties) {
        const std::string& name = property.name;
        marks.controller = marks.controller || name == "gpio-controller";
        marks.hog = marks.hog || name == "gpio-hog";
        if (name.ends_with(power_controller)) {
            const std::size_t vendor = name.size() - power_controller.size();
            marks.power_controller =
                marks.power_controller || vendor == 0 || name[vendor - 1] == ',';
        }
        if (names_gpios(name)) {
            marks.lines.push_back(&name);
        }
    }
    return marks;
}

class Pass {
public:
    explicit Pass(const Tree& tree) : tree_(tree), places_(tree.size()) {}

    Inventory take() {
        inventory_.model = text(tree_, root, "model").value_or("");
        if (const std::string* const all = tree_.value(root, "compatible")) {
            inventory_.compatible = strings_of(*all);
        }
        for (NodeId id = root; id < tree_.size(); ++id) {
            places_[id] = place_of(id);
            if (!places_[id].table) {
                take_node(id);
            }
        }
        return std::move(inventory_);
    }

private:
    /// What a node hands down to those below it.
    struct Inherited {
        bool enabled = true;
        bool slow = false;   ///< a bus that sleeps, or below one
        bool table = false;  ///< of labels or aliases, or below one
        bool keys = false;   ///< gpio-keys: what is directly below is a key
        bool polled = false;
        bool leds = false;
    };

    [[nodiscard]] Inherited place_of(NodeId id) const {
        const NodeId parent = tree_.node(id).parent;
        const Inherited above = parent == no_node ? Inherited{} : places_[parent];
        Inherited place;
        place.enabled = above.enabled && is_okay(tree_, id);
        place.slow = above.slow || is_slow_bus(tree_, id);
        place.table = above.table || is_table(tree_, id);
        place.polled = is_compatible(tree_, id, "gpio-keys-polled");
        place.keys = place.polled || is_compatible(tree_, id, "gpio-keys");
        place.leds = is_compatible(tree_, id, "gpio-leds");
        return place;
    }

    void take_node(NodeId id) {
        const NodeId parent = tree_.node(id).parent;
        const Inherited above = parent == no_node ? Inherited{} : places_[parent];
        const Marks marks = marks_of(tree_.node(id));
        bool named = true;  // does `gpios` mean what it is for most nodes?
        if (marks.controller) {
            take_controller(id);
        }
        if (marks.power_controller) {
            inventory_.power_controllers.push_back(
                {id, places_[id].enabled, text(tree_, id, "compatible").value_or("")});
        }
        if (is_compatible(tree_, id, "gpio-poweroff")) {
            take_post_halt(id);
        } else if (marks.hog) {
            take_hog(id);
        } else if (above.keys) {
            take_key(id, above.polled);
        } else if (above.leds) {
            take_led(id);
        } else {
            named = false;
        }
        for (const std::string* const property : marks.lines) {
            if (!named || (*property != "gpios" && *property != "gpio")) {
                take_others(id, *property);
            }
        }
        take_psci(id);
    }

    void take_controller(NodeId id) {
        Controller controller;
        controller.node = id;
        controller.enabled = places_[id].enabled;
        controller.cells = cell(tree_, id, "#gpio-cells").value_or(2);
        controller.ngpios = cell(tree_, id, "ngpios");
        controller.sleeps = places_[id].slow || waits_for_firmware(tree_, id);
        if (const std::string* const names = tree_.value(id, "gpio-line-names")) {
            controller.line_names = strings_of(*names);
        }
        inventory_.controllers.push_back(std::move(controller));
    }

    void take_post_halt(NodeId id) {
        PostHaltNode node;
        node.node = id;
        node.enabled = places_[id].enabled;
        node.line = unnamed_gpio(tree_, id);
        node.input = has(tree_, id, "input");
        node.active_ms = cell(tree_, id, "active-delay-ms").value_or(node.active_ms);
        node.inactive_ms = cell(tree_, id, "inactive-delay-ms").value_or(node.inactive_ms);
        node.timeout_ms = cell(tree_, id, "timeout-ms").value_or(node.timeout_ms);
        node.delays_stated = has(tree_, id, "active-delay-ms") ||
                             has(tree_, id, "inactive-delay-ms") || has(tree_, id, "timeout-ms");
        node.priority = cell(tree_, id, "priority");
        node.takes_over = has(tree_, id, "force");
        inventory_.post_halt.push_back(std::move(node));
    }

    void take_key(NodeId id, bool polled) {
        Key key;
        key.node = id;
        key.enabled = places_[id].enabled;
        key.polled = polled;
        key.code = cell(tree_, id, "linux,code").value_or(0);
        key.type = cell(tree_, id, "linux,input-type").value_or(key.type);
        key.label = text(tree_, id, "label").value_or(tree_.node(id).name);
        key.line = line_of(unnamed_gpio(tree_, id));
        inventory_.keys.push_back(std::move(key));
    }

    void take_led(NodeId id) {
        Led led;
        led.node = id;
        led.enabled = places_[id].enabled;
        led.name = led_name(tree_, id);
        led.line = line_of(unnamed_gpio(tree_, id));
        led.stays_at_shutdown = has(tree_, id, "retain-state-shutdown");
        inventory_.leds.push_back(std::move(led));
    }

    /// The kernel looks for hogs below controllers only; their `gpios` name no controller, because
    /// it can only be the one above [linux drivers/gpio/gpiolib-of.c, of_parse_own_gpio].
    void take_hog(NodeId id) {
        const NodeId controller = tree_.node(id).parent;
        if (controller == no_node || !has(tree_, controller, "gpio-controller")) {
            return;
        }
        Hog hog;
        hog.node = id;
        hog.enabled = places_[id].enabled;
        for (const char* const level : {"input", "output-low", "output-high"}) {
            if (hog.level.empty() && has(tree_, id, level)) {
                hog.level = level;
            }
        }
        const std::string* const value = tree_.value(id, "gpios");
        const auto all = value == nullptr ? std::nullopt : cells_of(*value);
        const std::size_t count = cell(tree_, controller, "#gpio-cells").value_or(0);
        for (std::size_t at = 0; all && count > 0 && count <= all->size() - at; at += count) {
            const auto first = all->begin() + static_cast<std::ptrdiff_t>(at);
            const GpioEntry entry =
                decode_gpio(tree_, controller, {first, first + static_cast<std::ptrdiff_t>(count)});
            if (entry) {
                hog.lines.push_back(*entry);
            }
        }
        inventory_.hogs.push_back(std::move(hog));
    }

    void take_others(NodeId id, const std::string& property) {
        for (const GpioEntry& entry : gpios(tree_, id, property)) {
            if (entry) {
                inventory_.others.push_back({id, places_[id].enabled, property, *entry});
            }
        }
    }

    void take_psci(NodeId id) {
        if (!places_[id].enabled) {
            return;
        }
        constexpr std::array<std::array<std::string_view, 2>, 3> oldest_first{
            {{"arm,psci", "0.1"}, {"arm,psci-0.2", "0.2"}, {"arm,psci-1.0", "1.0"}}};
        for (const auto& [compatible, version] : oldest_first) {
            if (inventory_.psci < version && is_compatible(tree_, id, compatible)) {
                inventory_.psci = version;
            }
        }
    }

    const Tree& tree_;
    std::vector<Inherited> places_;
    Inventory inventory_;
};

}  // namespace

Inventory take_inventory(const Tree& tree) {
    return tree.size() == 0 ? Inventory{} : Pass(tree).take();
}

std::string line_name(const Inventory& inventory, const GpioLine& line) {
    for (const Controller& controller : inventory.controllers) {
        if (controller.node == line.controller) {
            return line.offset < controller.line_names.size() ? controller.line_names[line.offset]
                                                              : "";
        }
    }
    return "";
}

std::vector<GpioLine> lines_named(const Inventory& inventory, std::string_view name) {
    std::vector<GpioLine> lines;
    if (name.empty()) {
        return lines;
    }
    for (const Controller& controller : inventory.controllers) {
        const std::vector<std::string>& names = controller.line_names;
        for (auto at = std::find(names.begin(), names.end(), name); at != names.end();
             at = std::find(at + 1, names.end(), name)) {
            lines.push_back({controller.node, static_cast<std::uint32_t>(at - names.begin()), 0});
        }
    }
    return lines;
}

}  // namespace nightlatch::devicetree
