// SPDX-License-Identifier: MIT
#pragma once

#include "devicetree/gpio.hpp"

#include <optional>
#include <string>
#include <vector>

/// Pads: which pin of which pin controller a line is, and what the nodes of the tree set it to.
namespace nightlatch::devicetree {

/// How a pin controller writes its groups. The others (names of groups, codes with tables of a
/// driver's own) are not read.
enum class PadForm : unsigned char {
    unknown,
    brcm,      ///< brcm,pins [bindings/pinctrl/brcm,bcm2835-gpio.txt]
    rockchip,  ///< rockchip,pins [bindings/pinctrl/rockchip,pinctrl.yaml]
    imx,       ///< fsl,pins [bindings/pinctrl/fsl,imx-pinctrl.txt]
    single,    ///< pinctrl-single,pins [bindings/pinctrl/pinctrl-single.yaml]
};

/// One row of a group: what is written to which pin.
struct PadRow {
    std::uint32_t pin = 0;
    std::string function;      ///< "alt5", "mux 3"
    std::optional<bool> gpio;  ///< nothing: which number is GPIO is not known here
};

struct PadSetting {
    NodeId user = no_node;   ///< the enabled node whose pinctrl-0 it is
    NodeId group = no_node;  ///< the node that holds the row
    PadRow row;
};

struct Pad {
    PadForm form = PadForm::unknown;
    NodeId pinctrl = no_node;          ///< no_node: not known
    std::optional<std::uint32_t> pin;  ///< as the pin controller counts; nothing: not known
    /// False where a request of the line is known to leave the pad as it is: i.MX without a shared
    /// register [linux drivers/pinctrl/freescale/pinctrl-imx.c], and pinctrl-single without
    /// pinctrl-single,gpio-range [linux drivers/pinctrl/pinctrl-single.c].
    bool request_switches = true;
    std::vector<PadSetting> settings;  ///< in the tree's order
};

/// The pad of a line, and who sets it.
Pad pad_of(const Tree& tree, const GpioLine& line);

/// The rows of one group, by the pin controller's form; none when it cannot be read.
std::vector<PadRow> pad_rows(const Tree& tree, NodeId group, const Pad& of);

/// The number that makes the pad of a line GPIO; nothing where it is not known.
std::optional<std::uint32_t> gpio_mux(const Tree& tree, const Pad& pad);

/// The nodes that pad_of() goes by.
std::vector<NodeId> nodes_behind(const Tree& tree, const Pad& pad);

}  // namespace nightlatch::devicetree
