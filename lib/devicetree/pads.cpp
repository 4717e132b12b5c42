// SPDX-License-Identifier: MIT
#include "devicetree/pads.hpp"

#include "base/text.hpp"
#include "devicetree/values.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::devicetree {
namespace {

using Cells = std::vector<std::uint32_t>;

Cells cells_in(const Tree& tree, NodeId node, std::string_view name) {
    const std::string* const value = tree.value(node, name);
    return value == nullptr ? Cells{} : cells_of(*value).value_or(Cells{});
}

std::vector<std::string> compatibles(const Tree& tree, NodeId node) {
    const std::string* const value = tree.value(node, "compatible");
    return value == nullptr ? std::vector<std::string>{} : strings_of(*value);
}

bool any_of_them(const std::vector<std::string>& names, bool (*is_it)(const std::string&)) {
    return std::any_of(names.begin(), names.end(), is_it);
}

bool is_brcm(const std::string& name) {
    return name == "brcm,bcm2835-gpio" || name == "brcm,bcm2711-gpio" ||
           name == "brcm,bcm7211-gpio";
}

bool is_rockchip(const std::string& name) {
    return name.starts_with("rockchip,") && name.ends_with("-pinctrl");
}

/// The firmware of i.MX8Q and 8X sets pads, from three cells each, and at no request either [linux
/// drivers/pinctrl/freescale/pinctrl-scu.c].
bool is_scu(const std::string& name) {
    return (name.starts_with("fsl,imx8qm-") || name.starts_with("fsl,imx8qxp-") ||
            name.starts_with("fsl,imx8dxl-")) &&
           name.ends_with("-iomuxc");
}

/// Mux and configuration share a register in i.MX7ULP and i.MX8ULP, where a request sets the mux;
/// i.MX1, 21 and 27 have a driver of their own [linux
/// drivers/pinctrl/freescale/pinctrl-{imx,imx1-core}.c].
bool is_imx(const std::string& name) {
    constexpr std::array<std::string_view, 5> others{
        "fsl,imx1-", "fsl,imx21-", "fsl,imx27-", "fsl,imx7ulp-", "fsl,imx8ulp-"};
    return name.starts_with("fsl,imx") && name.find("-iomuxc") != std::string::npos &&
           !is_scu(name) && std::none_of(others.begin(), others.end(), [&](std::string_view with) {
               return name.starts_with(with);
           });
}

bool is_single(const std::string& name) {
    return name == "pinctrl-single" || name == "pinconf-single" ||
           (name.starts_with("ti,") && name.ends_with("-padconf"));
}

PadForm form_of(const Tree& tree, NodeId pinctrl) {
    const std::vector<std::string> names = compatibles(tree, pinctrl);
    if (any_of_them(names, is_brcm)) {
        return PadForm::brcm;
    }
    if (any_of_them(names, is_rockchip)) {
        return PadForm::rockchip;
    }
    if (any_of_them(names, is_imx)) {
        return PadForm::imx;
    }
    return any_of_them(names, is_single) ? PadForm::single : PadForm::unknown;
}

/// The bank of Rockchip's is the number of the controller's alias, else the order in which the
/// banks come [linux drivers/gpio/gpio-rockchip.c, rockchip_gpio_probe].
std::optional<std::uint32_t> bank_of(const Tree& tree, NodeId bank) {
    const std::string path = tree.path_of(bank);
    const NodeId aliases = tree.find("/aliases");
    for (std::uint32_t number = 0; aliases != no_node && number < 16; ++number) {
        if (text(tree, aliases, "gpio" + std::to_string(number)) == path) {
            return number;
        }
    }
    const NodeId above = tree.node(bank).parent;
    std::uint32_t order = 0;
    for (NodeId id = above; id < bank; ++id) {
        if (tree.node(id).parent == above && has(tree, id, "gpio-controller")) {
            ++order;
        }
    }
    return order;
}

/// Rows of gpio-ranges: pin controller, first line, first pin, count [bindings/gpio/gpio.txt].
void place_by_ranges(const Tree& tree, const GpioLine& line, Pad& pad) {
    const Cells rows = cells_in(tree, line.controller, "gpio-ranges");
    for (std::size_t at = 0; at + 4 <= rows.size(); at += 4) {
        const NodeId pinctrl = tree.by_phandle(rows[at]);
        pad.pinctrl = pad.pinctrl == no_node ? pinctrl : pad.pinctrl;
        if (line.offset >= rows[at + 1] && line.offset - rows[at + 1] < rows[at + 3]) {
            pad.pinctrl = pinctrl;
            pad.pin = rows[at + 2] + (line.offset - rows[at + 1]);
            return;
        }
    }
}

/// A controller without gpio-ranges does not say whose its pads are; but where all the pin
/// controllers that it can be are of one form, the form is known.
PadForm only_form(const Tree& tree, NodeId controller) {
    const std::vector<std::string> names = compatibles(tree, controller);
    const bool imx =
        any_of_them(names, [](const std::string& name) { return name.starts_with("fsl,imx"); });
    // Their own, not the expanders of the same maker.
    const bool ti = any_of_them(names, [](const std::string& name) {
        return name == "ti,omap3-gpio" || name == "ti,omap4-gpio" || name == "ti,am4372-gpio" ||
               name == "ti,keystone-gpio" || name == "ti,am64-gpio";
    });
    const PadForm wanted = imx ? PadForm::imx : ti ? PadForm::single : PadForm::unknown;
    bool found = false;
    for (NodeId id = root; wanted != PadForm::unknown && id < tree.size(); ++id) {
        found = found || (form_of(tree, id) == wanted && is_enabled(tree, id));
    }
    return found ? wanted : PadForm::unknown;
}

bool a_single_switches(const Tree& tree, const Pad& pad) {
    constexpr const char* property = "pinctrl-single,gpio-range";
    if (pad.pinctrl != no_node) {
        return has(tree, pad.pinctrl, property);
    }
    bool any = false;
    for (NodeId id = root; id < tree.size(); ++id) {
        any = any || has(tree, id, property);
    }
    return any;
}

Pad place(const Tree& tree, const GpioLine& line) {
    Pad pad;
    if (any_of_them(compatibles(tree, line.controller), is_brcm)) {
        pad.pinctrl = line.controller;
        pad.pin = line.offset;
    } else {
        const NodeId above = tree.node(line.controller).parent;
        const bool bank = above != no_node && any_of_them(compatibles(tree, above), is_rockchip);
        pad.pinctrl = bank ? above : no_node;
        if (bank) {
            pad.pin = *bank_of(tree, line.controller) * 32 + line.offset;
        } else {
            place_by_ranges(tree, line, pad);
        }
    }
    pad.form =
        pad.pinctrl == no_node ? only_form(tree, line.controller) : form_of(tree, pad.pinctrl);
    const bool by_firmware =
        pad.pinctrl != no_node && any_of_them(compatibles(tree, pad.pinctrl), is_scu);
    pad.request_switches = pad.form != PadForm::imx && !by_firmware &&
                           (pad.form != PadForm::single || a_single_switches(tree, pad));
    return pad;
}

/// [bindings/pinctrl/brcm,bcm2835-gpio.txt, brcm,function]
std::string brcm_function(std::uint32_t code) {
    constexpr std::array<const char*, 8> names{
        "gpio_in", "gpio_out", "alt5", "alt4", "alt0", "alt1", "alt2", "alt3"};
    return code < names.size() ? names[code] : "function " + std::to_string(code);
}

void add_brcm(const Tree& tree, NodeId group, std::vector<PadRow>& rows) {
    const auto is_gpio = [](const std::string& name) { return name.starts_with("gpio_"); };
    const Cells functions = cells_in(tree, group, "brcm,function");
    const Cells pins = cells_in(tree, group, "brcm,pins");
    for (std::size_t i = 0; i < pins.size() && !functions.empty(); ++i) {
        // One function for all the pins, or one each.
        const std::string name = brcm_function(functions[i < functions.size() ? i : 0]);
        rows.push_back({pins[i], name, is_gpio(name)});
    }
    const std::optional<std::string> function = text(tree, group, "function");
    const std::string* const names = tree.value(group, "pins");
    for (const std::string& pin :
         function&& names != nullptr ? strings_of(*names) : std::vector<std::string>{}) {
        const bool named = pin.starts_with("gpio");
        const auto number = named ? number_in(std::string_view(pin).substr(4)) : std::nullopt;
        if (number) {
            rows.push_back({*number, *function, is_gpio(*function)});
        }
    }
}

void add_rockchip(const Tree& tree, NodeId group, std::vector<PadRow>& rows) {
    const Cells cells = cells_in(tree, group, "rockchip,pins");
    for (std::size_t at = 0; at + 4 <= cells.size(); at += 4) {
        // Mux 0 is GPIO [include/dt-bindings/pinctrl/rockchip.h, RK_FUNC_GPIO].
        rows.push_back({cells[at] * 32 + cells[at + 1],
                        "mux " + std::to_string(cells[at + 2]),
                        cells[at + 2] == 0});
    }
}

std::optional<bool> is_mux(const std::optional<std::uint32_t>& gpio, std::uint32_t mux) {
    return gpio ? std::optional(*gpio == mux) : std::nullopt;
}

/// mux register, configuration register, input register, mux, input, configuration; a pin's number
/// is that of its register [linux drivers/pinctrl/freescale/pinctrl-imx.c].
void add_imx(const Tree& tree, NodeId group, const Pad& of, std::vector<PadRow>& rows) {
    constexpr std::uint32_t sion = 0x10;  // a bit of the mux that says nothing of the function
    const Cells cells = cells_in(tree, group, "fsl,pins");
    for (std::size_t at = 0; at + 6 <= cells.size(); at += 6) {
        const std::uint32_t pin = (cells[at] == UINT32_MAX ? cells[at + 1] : cells[at]) / 4;
        Pad one = of;
        one.pin = pin;
        const std::uint32_t mux = cells[at + 3] & ~sion;
        rows.push_back({pin, "mux " + std::to_string(mux), is_mux(gpio_mux(tree, one), mux)});
    }
}

/// The bits of a pad's register that hold its mux mode [include/dt-bindings/pinctrl/{omap,am33xx,
/// am43xx,dra}.h, arch/arm64/boot/dts/ti/k3-pinctrl.h]: three or four.
std::uint32_t mode_bits(const Tree& tree, NodeId pinctrl) {
    for (const char* const name : {"ti,dra7-padconf", "ti,am437-padconf"}) {
        if (is_compatible(tree, pinctrl, name)) {
            return 15;
        }
    }
    const bool k3 = any_of_them(compatibles(tree, root), [](const std::string& name) {
        return name.starts_with("ti,am6") || name.starts_with("ti,j7");
    });
    return k3 ? 15 : 7;
}

/// <offset value>, or <offset configuration mux> where #pinctrl-cells is 2.
void add_single(const Tree& tree, NodeId group, const Pad& of, std::vector<PadRow>& rows) {
    const std::uint32_t more = cell(tree, of.pinctrl, "#pinctrl-cells").value_or(1);
    const std::uint32_t width = cell(tree, of.pinctrl, "pinctrl-single,register-width").value_or(0);
    const std::size_t step = std::size_t{1} + more;
    const Cells cells = cells_in(tree, group, "pinctrl-single,pins");
    if (width < 8 || more < 1 || more > 2) {
        return;
    }
    const std::uint32_t bits = mode_bits(tree, of.pinctrl);
    for (std::size_t at = 0; at + step <= cells.size(); at += step) {
        Pad one = of;
        one.pin = cells[at] / (width / 8);
        const std::uint32_t mux = (cells[at + 1] | (more == 2 ? cells[at + 2] : 0)) & bits;
        rows.push_back({*one.pin, "mux " + std::to_string(mux), is_mux(gpio_mux(tree, one), mux)});
    }
}

bool is_below(const Tree& tree, NodeId node, NodeId above) {
    while (node != no_node && node != above) {
        node = tree.node(node).parent;
    }
    return node == above;
}

void add_group(const Tree& tree, NodeId user, NodeId group, Pad& pad) {
    for (PadRow& row : pad_rows(tree, group, pad)) {
        if (row.pin == pad.pin) {
            pad.settings.push_back({user, group, std::move(row)});
        }
    }
}

/// A state's groups: the node itself and what is below it.
void add_state(const Tree& tree, NodeId user, NodeId state, Pad& pad) {
    if (state == no_node || !is_below(tree, state, pad.pinctrl)) {
        return;
    }
    add_group(tree, user, state, pad);
    for (NodeId id = state + 1; id < tree.size() && tree.node(id).parent >= state; ++id) {
        add_group(tree, user, id, pad);
    }
}

/// Registers of pads that are GPIO by another alternative than 5.
struct ZeroPads {
    const char* compatible;
    std::uint32_t first;
    std::uint32_t last;
};

/// i.MX6: alternative 5 of every pad. i.MX7 and i.MX8M: 5 too, but 0 of the pads called GPIO1_IO
/// [linux arch/arm/boot/dts/nxp/imx/imx6*-pinfunc.h, imx7d-pinfunc.h,
/// arch/arm64/boot/dts/freescale/imx8m*-pinfunc.h].
std::optional<std::uint32_t> imx_gpio_mux(const Tree& tree, const Pad& pad) {
    constexpr std::array<ZeroPads, 7> zero{{{"fsl,imx7d-iomuxc-lpsr", 0, UINT32_MAX},
                                            {"fsl,imx7d-iomuxc", 0x14, 0x30},
                                            {"fsl,imx8mm-iomuxc", 0x28, 0x64},
                                            {"fsl,imx8mn-iomuxc", 0x28, 0x64},
                                            {"fsl,imx8mq-iomuxc", 0x28, 0x64},
                                            {"fsl,imx8mp-iomuxc", 0x14, 0x50},
                                            {"fsl,imx6", 1, 0}}};
    const std::vector<std::string> names = compatibles(tree, pad.pinctrl);
    for (const ZeroPads& one : zero) {
        const std::uint32_t at = *pad.pin * 4;
        const bool is_it = std::any_of(names.begin(), names.end(), [&](const std::string& name) {
            return name == one.compatible || (one.first > one.last && name.starts_with("fsl,imx6"));
        });
        if (is_it) {
            return at >= one.first && at <= one.last ? 0 : 5;
        }
    }
    return std::nullopt;
}

/// [include/dt-bindings/pinctrl/omap.h, am33xx.h, dra.h, k3.h: the mode that is GPIO in the parts'
/// manuals]
std::optional<std::uint32_t> single_gpio_mux(const Tree& tree, const Pad& pad) {
    struct Known {
        const char* compatible;
        std::uint32_t mux;
    };

    constexpr std::array<Known, 3> by_controller{
        {{"ti,am437-padconf", 7}, {"ti,dra7-padconf", 14}, {"ti,omap3-padconf", 4}}};
    for (const Known& one : by_controller) {
        if (is_compatible(tree, pad.pinctrl, one.compatible)) {
            return one.mux;
        }
    }
    const bool seven = any_of_them(compatibles(tree, root), [](const std::string& name) {
        return name == "ti,am33xx" || name.starts_with("ti,am6") || name.starts_with("ti,j7");
    });
    return seven ? std::optional(7U) : std::nullopt;
}

}  // namespace

std::optional<std::uint32_t> gpio_mux(const Tree& tree, const Pad& pad) {
    if (pad.pinctrl == no_node || !pad.pin) {
        return std::nullopt;
    }
    if (pad.form == PadForm::imx) {
        return imx_gpio_mux(tree, pad);
    }
    return pad.form == PadForm::single ? single_gpio_mux(tree, pad) : std::nullopt;
}

std::vector<PadRow> pad_rows(const Tree& tree, NodeId group, const Pad& of) {
    std::vector<PadRow> rows;
    switch (of.form) {
    case PadForm::brcm:
        add_brcm(tree, group, rows);
        break;
    case PadForm::rockchip:
        add_rockchip(tree, group, rows);
        break;
    case PadForm::imx:
        add_imx(tree, group, of, rows);
        break;
    case PadForm::single:
        add_single(tree, group, of, rows);
        break;
    case PadForm::unknown:
        break;
    }
    return rows;
}

Pad pad_of(const Tree& tree, const GpioLine& line) {
    Pad pad = place(tree, line);
    if (pad.form == PadForm::unknown || pad.pinctrl == no_node || !pad.pin) {
        return pad;
    }
    for (NodeId user = root; user < tree.size(); ++user) {
        if (!has(tree, user, "pinctrl-0") || !is_enabled(tree, user)) {
            continue;
        }
        for (const std::uint32_t state : cells_in(tree, user, "pinctrl-0")) {
            add_state(tree, user, tree.by_phandle(state), pad);
        }
    }
    return pad;
}

std::vector<NodeId> nodes_behind(const Tree& tree, const Pad& pad) {
    std::vector<NodeId> nodes;
    if (const NodeId aliases = tree.find("/aliases"); aliases != no_node) {
        nodes.push_back(aliases);
    }
    for (NodeId id = root; id < tree.size(); ++id) {
        if (id == pad.pinctrl || (pad.form != PadForm::unknown && form_of(tree, id) == pad.form)) {
            nodes.push_back(id);
        }
    }
    for (const PadSetting& setting : pad.settings) {
        nodes.push_back(setting.user);
        nodes.push_back(setting.group);
    }
    return nodes;
}

}  // namespace nightlatch::devicetree
