// SPDX-License-Identifier: MIT
#pragma once

#include "devicetree/gpio.hpp"

#include <optional>

/// What of a whole tree matters to a button and a post-halt line, taken in one pass.
namespace nightlatch::devicetree {

/// A node with `gpio-controller`.
struct Controller {
    NodeId node = no_node;
    bool enabled = true;
    std::uint32_t cells = 2;              ///< `#gpio-cells`
    std::optional<std::uint32_t> ngpios;  ///< where the node says so
    std::vector<std::string> line_names;  ///< `gpio-line-names`, by offset; empty ones are nameless
    /// Behind a bus whose transfers sleep: below a node with `#size-cells` 0 and a name that begins
    /// with i2c, i3c, spi, rsb, slim or mdio; or reached by messages to the firmware. A bus by
    /// another name is not recognised. The path says which it is.
    bool sleeps = false;
};

/// A node compatible with "gpio-poweroff" [linux Documentation/devicetree/bindings/power/reset/
/// gpio-poweroff.yaml]; delays that are not stated have the driver's defaults.
struct PostHaltNode {
    NodeId node = no_node;
    bool enabled = true;
    GpioEntry line = Unexpected{std::string{"no line"}};
    bool input = false;  ///< an input until the power-off itself
    std::uint32_t active_ms = 100;
    std::uint32_t inactive_ms = 100;
    std::uint32_t timeout_ms = 3000;
    bool delays_stated = false;             ///< any of the three stands in the tree
    std::optional<std::uint32_t> priority;  ///< since Linux 6.7; 0 to 255
    bool takes_over = false;  ///< a vendor kernel's `force`: takes the slot although it is occupied
};

/// A child of gpio-keys or gpio-keys-polled [bindings/input/gpio-keys.yaml].
struct Key {
    NodeId node = no_node;
    bool enabled = true;
    bool polled = false;
    std::uint32_t code = 0;        ///< `linux,code`
    std::uint32_t type = 1;        ///< `linux,input-type`; 1: EV_KEY
    std::string label;             ///< `label`, else the node's name
    std::optional<GpioLine> line;  ///< none: an interrupt only, or it cannot be read
};

/// A child of gpio-leds [bindings/leds/leds-gpio.yaml].
struct Led {
    NodeId node = no_node;
    bool enabled = true;
    /// As /sys/class/leds has it, as far as the tree says: label, else color and function, else the
    /// node's name.
    std::string name;
    std::optional<GpioLine> line;
    bool stays_at_shutdown = false;  ///< `retain-state-shutdown`
};

/// `gpio-hog`: a line that the controller's driver takes for itself at probe
/// [bindings/gpio/gpio.txt].
struct Hog {
    NodeId node = no_node;
    bool enabled = true;
    std::vector<GpioLine> lines;
    std::string level;  ///< "input", "output-low", "output-high"; "" when none is stated
};

/// `system-power-controller`, or a vendor's older name for it: a chip that takes part in
/// power-off.
struct PowerController {
    NodeId node = no_node;
    bool enabled = true;
    std::string compatible;
};

/// Any other property that names a line.
struct OtherUse {
    NodeId node = no_node;
    bool enabled = true;
    std::string property;
    GpioLine line;
};

/// A watchdog that the tree describes matters only with its driver, so it is not here.
struct Inventory {
    std::string model;
    std::vector<std::string> compatible;  ///< of the root
    std::vector<Controller> controllers;
    std::vector<PostHaltNode> post_halt;
    std::vector<Key> keys;
    std::vector<Led> leds;
    std::vector<Hog> hogs;
    std::vector<PowerController> power_controllers;
    std::vector<OtherUse> others;
    /// PSCI [bindings/arm/psci.yaml]: the newest version that the node claims, "0.2"; empty
    /// without.
    std::string psci;
};

Inventory take_inventory(const Tree& tree);

/// The name of the line in its controller's gpio-line-names; empty when it has none.
std::string line_name(const Inventory& inventory, const GpioLine& line);

/// Every line whose controller names it so; several when the name is used more than once.
std::vector<GpioLine> lines_named(const Inventory& inventory, std::string_view name);

}  // namespace nightlatch::devicetree
