// SPDX-License-Identifier: MIT
#pragma once

#include "audit/facts.hpp"

#include <optional>
#include <string_view>

namespace nightlatch::facts {

/// What pinctrl says of every pin, and which lines the pins are [<root>/sys/kernel/debug/pinctrl;
/// linux Documentation/driver-api/pin-control.rst]. Root only, and only with debugfs mounted.
Known<lines::Pins> read_pins(const std::string& root);

/// One controller's pinmux-pins [linux drivers/pinctrl/pinmux.c, pinmux_pins_show].
std::vector<lines::Pin> pins_of(const std::string& controller, std::string_view text);

/// A chip's numbers in the kernel's own, global numbering of lines.
struct ChipNumbers {
    std::string label;
    unsigned first = 0;
    unsigned count = 0;
};

/// Of debugfs's file gpio: "gpiochip0: GPIOs 512-569, parent: platform/fe200000.gpio, soc-gpio:"
/// [linux drivers/gpio/gpiolib.c, gpiolib_seq_show]. Newer kernels leave the numbers out.
std::vector<ChipNumbers> chip_numbers(std::string_view text);

/// One controller's gpio-ranges [linux drivers/pinctrl/core.c, pinctrl_gpioranges_show], whose
/// global numbers become offsets; a range of a chip that `chips` does not know is left out.
std::vector<lines::PinRange> ranges_of(const std::string& controller,
                                       std::string_view text,
                                       const std::vector<ChipNumbers>& chips);

}  // namespace nightlatch::facts
