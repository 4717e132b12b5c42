// SPDX-License-Identifier: MIT
#include "devicetree/gpio.hpp"

#include "devicetree/values.hpp"

#include <algorithm>
#include <array>
#include <span>

namespace nightlatch::devicetree {
namespace {

using Cells = std::vector<std::uint32_t>;

constexpr std::string_view cells_name = "#gpio-cells";
/// More cells than a specifier can have [linux include/linux/of.h, MAX_PHANDLE_ARGS].
constexpr std::uint32_t most_cells = 16;
/// Real properties name some dozens of lines at most.
constexpr std::size_t most_entries = 1024;
/// Connectors behind connectors. The kernel has no bound, and would go round in a circle for ever.
constexpr int most_maps = 4;
constexpr std::size_t most_map_cells = 1024;

Unexpected<std::string> because(std::string text) {
    return Unexpected{std::move(text)};
}

bool is_any(const Tree& tree, NodeId node, std::span<const std::string_view> names) {
    return std::any_of(names.begin(), names.end(), [&](std::string_view name) {
        return is_compatible(tree, node, name);
    });
}

/// How the driver of a controller makes a line's offset of the cells. Most take the first cell; the
/// others were found by reading every `of_xlate` in linux 6.12 drivers/gpio and drivers/pinctrl.
enum class Form {
    offset,
    bank_of_32,  ///< Allwinner's pin controllers, drivers/pinctrl/sunxi/pinctrl-sunxi.c
    from_one,    ///< pins counted from 1: drivers/pinctrl/qcom/pinctrl-{spmi,ssbi}-{gpio,mpp}.c
    unknown,     ///< the offset depends on tables or chips that the tree does not have
};

constexpr std::array<std::string_view, 4> counted_from_one{
    "qcom,spmi-gpio", "qcom,spmi-mpp", "qcom,ssbi-gpio", "qcom,ssbi-mpp"};

constexpr std::array<std::string_view, 11> translated_by_tables{
    "nvidia,tegra186-gpio",  // holes between its ports: drivers/gpio/gpio-tegra186.c
    "nvidia,tegra186-gpio-aon",
    "nvidia,tegra194-gpio",
    "nvidia,tegra194-gpio-aon",
    "nvidia,tegra234-gpio",
    "nvidia,tegra234-gpio-aon",
    "brcm,brcmstb-gpio",             // one chip a bank: drivers/gpio/gpio-brcmstb.c
    "mediatek,mt7621-gpio",          // one chip a bank: drivers/gpio/gpio-mt7621.c
    "nxp,lpc3220-gpio",              // one chip a bank: drivers/gpio/gpio-lpc32xx.c
    "gpio-delay",                    // the further cells are times: drivers/gpio/gpio-aggregator.c
    "microchip,sparx5-sgpio-bank"};  // drivers/pinctrl/pinctrl-microchip-sgpio.c

Form form_of(const Tree& tree, NodeId controller, std::size_t cells) {
    if (is_any(tree, controller, translated_by_tables)) {
        return Form::unknown;
    }
    if (cells == 1 || cells == 2) {
        return is_any(tree, controller, counted_from_one) ? Form::from_one : Form::offset;
    }
    const std::optional<std::string> compatible = text(tree, controller, "compatible");
    const bool allwinner = compatible && (compatible->starts_with("allwinner,") ||
                                          *compatible == "nextthing,gr8-pinctrl");
    return cells == 3 && allwinner ? Form::bank_of_32 : Form::unknown;
}

GpioEntry by_form(const Tree& tree, NodeId controller, const Cells& cells) {
    const std::uint32_t last = cells.size() > 1 ? cells.back() : 0;
    switch (form_of(tree, controller, cells.size())) {
    case Form::offset:
        return GpioLine{controller, cells[0], last};
    case Form::from_one:
        if (cells[0] == 0) {
            return because(tree.path_of(controller) + " counts its pins from 1, and this is pin 0");
        }
        return GpioLine{controller, cells[0] - 1, last};
    case Form::bank_of_32:
        if (cells[0] > UINT32_MAX / 32 - 1 || cells[1] >= 32) {
            return because(tree.path_of(controller) + " has no pin " + std::to_string(cells[1]) +
                           " in a bank " + std::to_string(cells[0]));
        }
        return GpioLine{controller, cells[0] * 32 + cells[1], last};
    case Form::unknown:
        break;
    }
    return because("the " + std::to_string(cells.size()) + " cells that " +
                   tree.path_of(controller) + " takes are translated in a way of its driver's own");
}

/// What a connector's gpio-map makes of cells [Devicetree Specification 0.4, 2.5; linux
/// drivers/of/base.c, of_parse_phandle_with_args_map].
struct Mapped {
    NodeId node = no_node;
    Cells cells;
};

std::optional<std::uint32_t> cells_a_line(const Tree& tree, NodeId node) {
    const std::optional<std::uint32_t> count = cell(tree, node, cells_name);
    return count && *count >= 1 && *count <= most_cells ? count : std::nullopt;
}

/// A mask property, by default `all` for every cell.
std::optional<Cells> mask(const Tree& tree, NodeId node, std::string_view name, std::uint32_t all) {
    const std::string* const value = tree.value(node, name);
    if (value == nullptr) {
        return Cells(most_cells, all);
    }
    std::optional<Cells> cells = cells_of(*value);
    if (cells) {
        cells->resize(most_cells, all);
    }
    return cells;
}

/// One row of a map: <child cells, parent, parent's cells>, and what to compare and keep of them.
struct Row {
    const Cells& map;
    const Cells& care;
    const Cells& kept;
    std::size_t at = 0;

    [[nodiscard]] bool matches(const Cells& cells) const {
        for (std::size_t i = 0; i < cells.size(); ++i) {
            if (((cells[i] ^ map[at + i]) & care[i]) != 0) {
                return false;
            }
        }
        return true;
    }

    [[nodiscard]] Cells translated(const Cells& cells, std::size_t count) const {
        Cells result;
        for (std::size_t i = 0; i < count; ++i) {
            const std::uint32_t keep = i < cells.size() ? kept[i] : 0;
            const std::uint32_t mine = i < cells.size() ? cells[i] : 0;
            result.push_back((map[at + cells.size() + 1 + i] & ~keep) | (mine & keep));
        }
        return result;
    }
};

Result<Mapped, std::string> through_map(const Tree& tree, NodeId node, const Cells& cells) {
    const std::string broken = "the gpio-map of " + tree.path_of(node) + " cannot be read";
    const std::optional<Cells> map = cells_of(*tree.value(node, "gpio-map"));
    const std::optional<Cells> care = mask(tree, node, "gpio-map-mask", UINT32_MAX);
    const std::optional<Cells> kept = mask(tree, node, "gpio-map-pass-thru", 0);
    if (!map || !care || !kept || map->size() > most_map_cells) {
        return because(broken);
    }
    Row row{*map, *care, *kept};
    while (map->size() - row.at > cells.size()) {
        const std::size_t target = row.at + cells.size();
        const NodeId parent = tree.by_phandle((*map)[target]);
        const auto count = parent == no_node ? std::nullopt : cells_a_line(tree, parent);
        if (!count || map->size() - target - 1 < *count) {
            return because(broken);
        }
        if (row.matches(cells) && is_okay(tree, parent)) {
            return Mapped{parent, row.translated(cells, *count)};
        }
        row.at = target + 1 + *count;
    }
    return because("the gpio-map of " + tree.path_of(node) + " has no line " +
                   std::to_string(cells[0]));
}

}  // namespace

GpioEntry decode_gpio(const Tree& tree, NodeId controller, const Cells& cells) {
    Mapped at{controller, cells};
    if (cells.size() != cells_a_line(tree, controller)) {
        return because(tree.path_of(controller) + " does not take " + std::to_string(cells.size()) +
                       " cells for a line");
    }
    for (int maps = 0; has(tree, at.node, "gpio-map"); ++maps) {
        if (maps == most_maps) {
            return because("more than " + std::to_string(most_maps) +
                           " connectors are behind each other from " + tree.path_of(controller) +
                           " on, or in a circle");
        }
        Result<Mapped, std::string> next = through_map(tree, at.node, at.cells);
        if (!next) {
            return because(next.error());
        }
        at = std::move(*next);
    }
    return by_form(tree, at.node, at.cells);
}

std::vector<GpioEntry> gpios(const Tree& tree, NodeId node, std::string_view property) {
    std::vector<GpioEntry> entries;
    const std::string* const value = tree.value(node, property);
    if (value == nullptr) {
        return entries;
    }
    const std::string where = std::string(property) + " of " + tree.path_of(node);
    const std::optional<Cells> cells = cells_of(*value);
    if (!cells) {
        entries.push_back(because(where + " is not made of whole cells"));
        return entries;
    }
    std::size_t at = 0;
    while (at < cells->size()) {
        if (entries.size() == most_entries) {
            entries.push_back(because(where + " has too many entries"));
            return entries;
        }
        const std::uint32_t phandle = (*cells)[at++];
        if (phandle == 0) {
            entries.push_back(because("an empty entry (phandle 0) in " + where));
            continue;
        }
        const NodeId controller = tree.by_phandle(phandle);
        const auto count = controller == no_node ? std::nullopt : cells_a_line(tree, controller);
        if (!count) {
            entries.push_back(because(where + " names phandle " + std::to_string(phandle) +
                                      ", which is not a GPIO controller's"));
            return entries;
        }
        if (cells->size() - at < *count) {
            entries.push_back(because(where + " ends within an entry"));
            return entries;
        }
        const auto first = cells->begin() + static_cast<std::ptrdiff_t>(at);
        const auto end = first + static_cast<std::ptrdiff_t>(*count);
        entries.push_back(decode_gpio(tree, controller, Cells(first, end)));
        at += *count;
    }
    return entries;
}

GpioEntry unnamed_gpio(const Tree& tree, NodeId node) {
    for (const std::string_view name : {"gpios", "gpio"}) {
        const std::vector<GpioEntry> entries = gpios(tree, node, name);
        if (!entries.empty()) {
            return entries.front();
        }
    }
    return because(tree.path_of(node) + " names no line: it has neither gpios nor gpio");
}

bool names_gpios(std::string_view property) {
    if (property == "nr-gpios" || property.ends_with(",nr-gpios")) {
        return false;
    }
    return property == "gpios" || property == "gpio" || property.ends_with("-gpios") ||
           property.ends_with("-gpio");
}

}  // namespace nightlatch::devicetree
