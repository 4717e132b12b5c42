// SPDX-License-Identifier: MIT
#pragma once

#include "devicetree/tree.hpp"

/// GPIO specifiers: who is meant by <&gpio 6 1>.
namespace nightlatch::devicetree {

/// Flags of a specifier's last cell [linux include/dt-bindings/gpio/gpio.h].
inline constexpr std::uint32_t flag_active_low = 1;
inline constexpr std::uint32_t flag_single_ended = 2;
inline constexpr std::uint32_t flag_open_drain = 4;
inline constexpr std::uint32_t flag_transitory = 8;
inline constexpr std::uint32_t flag_pull_up = 16;
inline constexpr std::uint32_t flag_pull_down = 32;
inline constexpr std::uint32_t flag_pull_disable = 64;

/// A line of a controller, by node and offset: what stays the same over kernel versions.
struct GpioLine {
    NodeId controller = no_node;
    std::uint32_t offset = 0;
    std::uint32_t flags = 0;

    [[nodiscard]] bool active_low() const noexcept { return (flags & flag_active_low) != 0; }

    [[nodiscard]] bool same_line(const GpioLine& other) const noexcept {
        return controller == other.controller && offset == other.offset;
    }

    bool operator==(const GpioLine&) const = default;
};

/// Do the cells (without the phandle) of a controller mean a line? Understood are one cell
/// (offset), two (offset, flags), and three of Allwinner's controllers (bank, pin, flags; 32 pins
/// a bank) [linux drivers/pinctrl/sunxi/pinctrl-sunxi.c]. Otherwise a sentence why not.
Result<GpioLine, std::string> decode_gpio(const Tree& tree,
                                          NodeId controller,
                                          const std::vector<std::uint32_t>& cells);

/// One entry of a list of specifiers.
using GpioEntry = Result<GpioLine, std::string>;

/// All entries of a property like `gpios`: phandles resolved, as many cells each as the
/// controller's `#gpio-cells` says. A phandle of 0 is an empty entry and gives a sentence that
/// says so. Where a phandle means nothing the rest cannot be divided: the last entry then is the
/// sentence.
std::vector<GpioEntry> gpios(const Tree& tree, NodeId node, std::string_view property);

/// The first of `gpios`, or of the older `gpio`, as the kernel looks for an unnamed line
/// [linux drivers/gpio/gpiolib-of.c, of_find_gpio]. A sentence when there is none.
GpioEntry unnamed_gpio(const Tree& tree, NodeId node);

/// `gpios`, `gpio`, and names that end with -gpios or -gpio: properties that name lines [linux
/// Documentation/devicetree/bindings/gpio/gpio.txt]; not `nr-gpios` (a number, an old exception).
bool names_gpios(std::string_view property);

}  // namespace nightlatch::devicetree
