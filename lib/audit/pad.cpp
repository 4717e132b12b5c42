// SPDX-License-Identifier: MIT
#include "audit/pad.hpp"

#include "audit/remedy.hpp"
#include "base/text.hpp"
#include "devicetree/values.hpp"

#include <algorithm>

namespace nightlatch::audit {
namespace {

using devicetree::NodeId;
using devicetree::Pad;
using devicetree::PadForm;
using devicetree::Tree;

/// A cell as dtc reads it.
std::string cell_text(std::uint32_t number) {
    return "0x" + devicetree::hex(number);
}

/// The kernel takes groups right below the controller where its first group is one, and groups
/// below functions else [linux drivers/pinctrl/freescale/pinctrl-imx.c,
/// imx_pinctrl_dt_is_flat_functions].
bool groups_are_flat(const Tree& tree, NodeId pinctrl) {
    for (NodeId id = pinctrl + 1; id < tree.size() && tree.node(id).parent >= pinctrl; ++id) {
        if (devicetree::has(tree, id, "fsl,pins")) {
            return tree.node(id).parent == pinctrl;
        }
    }
    return true;
}

/// Bit 31: the pad's electrical configuration stays as it is [bindings/pinctrl/fsl,imx-pinctrl.txt,
/// NO_PAD_CTL]. Its register then is of no use.
std::string imx_group(const Tree& tree, const Pad& pad, std::uint32_t mux) {
    const std::string row = "fsl,pins = <" + cell_text(*pad.pin * 4) + " 0 0 " +
                            std::to_string(mux) + " 0 0x80000000>;\n";
    return groups_are_flat(tree, pad.pinctrl)
               ? "\t\t\tpost_halt_pad: post-halt-pad-grp {\n\t\t\t\t" + row + "\t\t\t};\n"
               : "\t\t\tpost-halt-pad {\n\t\t\t\tpost_halt_pad: post-halt-pad-grp {\n\t\t\t\t\t" +
                     row + "\t\t\t\t};\n\t\t\t};\n";
}

/// The bit that switches the pad's pull off: 3 of AM33xx [include/dt-bindings/pinctrl/am33xx.h,
/// PULL_DISABLE], 16 of K3 [arch/arm64/boot/dts/ti/k3-pinctrl.h].
std::string single_group(const Tree& tree, const Pad& pad, std::uint32_t mux) {
    const std::uint32_t more = devicetree::cell(tree, pad.pinctrl, "#pinctrl-cells").value_or(1);
    const std::uint32_t width =
        devicetree::cell(tree, pad.pinctrl, "pinctrl-single,register-width").value_or(32);
    const std::uint32_t no_pull =
        devicetree::is_compatible(tree, devicetree::root, "ti,am33xx") ? 0x8 : 0x10000;
    return "\t\t\tpost_halt_pad: post-halt-pad-pins {\n\t\t\t\tpinctrl-single,pins = <" +
           cell_text(*pad.pin * (width / 8)) + " " +
           (more == 2 ? cell_text(no_pull) + " " + cell_text(mux) : cell_text(no_pull | mux)) +
           ">;\n\t\t\t};\n";
}

/// A node that does what has to be done, to look at: the first whose pinctrl-0 is below the same
/// controller.
std::string example_of(const Scene& scene, const Pad& pad) {
    const Tree& tree = *scene.tree;
    for (NodeId id = devicetree::root; pad.pinctrl != devicetree::no_node && id < tree.size();
         ++id) {
        const auto* const value = tree.value(id, "pinctrl-0");
        const auto cells = value == nullptr ? std::nullopt : devicetree::cells_of(*value);
        NodeId at =
            cells && !cells->empty() ? tree.by_phandle(cells->front()) : devicetree::no_node;
        while (at != devicetree::no_node && at != pad.pinctrl) {
            at = tree.node(at).parent;
        }
        if (at == pad.pinctrl && devicetree::is_enabled(tree, id)) {
            return "; see pinctrl-0 of " + safe(tree.path_of(id)) + " for how";
        }
    }
    return "";
}

}  // namespace

PadText pad_text(const Scene& scene, const devicetree::GpioLine& line) {
    const Tree& tree = *scene.tree;
    const Pad pad = devicetree::pad_of(tree, line);
    PadText text;
    text.needed = !pad.request_switches;
    if (!text.needed) {
        return text;
    }
    const std::optional<std::uint32_t> mux = devicetree::gpio_mux(tree, pad);
    text.words = "Give the post-halt node a pinctrl-0 whose group sets the pad of " +
                 text_of(scene, line) + " to GPIO, from the board's schematic and " +
                 (pad.form == PadForm::imx ? "the part's pinfunc header"
                                           : "the part's manual (its mux mode for GPIO)") +
                 example_of(scene, pad) + ".";
    if (!mux) {
        return text;
    }
    // A controller that the tree words as the 64-bit parts do takes one value; the group's offset
    // counts in its registers.
    const bool am33 = devicetree::is_compatible(tree, devicetree::root, "ti,am33xx");
    const bool k3 = devicetree::cell(tree, pad.pinctrl, "#pinctrl-cells") == 1U && !am33;
    if (pad.form != PadForm::imx && !am33 && !k3) {
        return text;
    }
    text.fragment =
        "\tfragment@2 {\n\t\ttarget-path = " + dts_string(tree.path_of(pad.pinctrl)) +
        ";\n\t\t__overlay__ {\n" +
        (pad.form == PadForm::imx ? imx_group(tree, pad, *mux) : single_group(tree, pad, *mux)) +
        "\t\t};\n\t};\n\n";
    text.node = "pinctrl-names = \"default\";\npinctrl-0 = <&post_halt_pad>;\n";
    return text;
}

}  // namespace nightlatch::audit
