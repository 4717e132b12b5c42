// SPDX-License-Identifier: MIT
#include "devicetree/led_name.hpp"

#include "devicetree/values.hpp"

#include <array>

namespace nightlatch::devicetree {
namespace {

/// [linux include/linux/leds.h, LED_MAX_NAME_SIZE, without the NUL]
constexpr std::size_t longest = 63;

/// By their numbers [linux include/dt-bindings/leds/common.h].
constexpr std::array<std::string_view, 15> colors{"white",
                                                  "red",
                                                  "green",
                                                  "blue",
                                                  "amber",
                                                  "violet",
                                                  "yellow",
                                                  "ir",
                                                  "multicolor",
                                                  "rgb",
                                                  "purple",
                                                  "orange",
                                                  "pink",
                                                  "cyan",
                                                  "lime"};

std::string without_unit(const std::string& name) {
    return name.substr(0, name.find('@'));
}

}  // namespace

std::string led_name(const Tree& tree, NodeId node) {
    const std::string plain = without_unit(tree.node(node).name);
    if (has(tree, node, "label")) {
        return text(tree, node, "label").value_or(plain).substr(0, longest);
    }
    const std::optional<std::uint32_t> color = cell(tree, node, "color");
    const bool colored = color && *color < colors.size();
    const std::optional<std::string> function = text(tree, node, "function");
    if (!colored && !function) {
        return plain.substr(0, longest);
    }
    std::string name = (colored ? std::string(colors[*color]) : "") + ':' + function.value_or("");
    if (const auto number = cell(tree, node, "function-enumerator"); function && number) {
        name += '-' + std::to_string(*number);
    }
    return name.substr(0, longest);
}

}  // namespace nightlatch::devicetree
