// SPDX-License-Identifier: MIT
#pragma once

#include "base/known.hpp"
#include "lines/chip.hpp"

#include <string>
#include <vector>

namespace nightlatch::lines {

/// What function a pin has now [/sys/kernel/debug/pinctrl/*/pinmux-pins; root only].
struct Pin {
    std::string controller;  ///< the pin controller's device
    unsigned pin = 0;
    std::string name;
    std::string mux_owner;   ///< device that muxed it; empty: none
    std::string gpio_owner;  ///< who holds it as a GPIO line; empty: none
    std::string function;    ///< empty: none
};

/// A chip's lines onto pins [/sys/kernel/debug/pinctrl/*/gpio-ranges].
struct PinRange {
    std::string controller;  ///< as Pin::controller
    std::string chip;        ///< the chip's label
    unsigned first_line = 0;
    unsigned first_pin = 0;
    unsigned count = 0;
};

struct Pins {
    std::vector<Pin> pins;
    std::vector<PinRange> ranges;
};

/// The pin of a chip's line; null when no controller tells of it.
const Pin* pin_of(const Pins& pins, const Chip& chip, unsigned offset);

enum class PinNow : unsigned char {
    gpio,
    other,    ///< a request of the line would take the pin away from it
    unknown,  ///< and so never requested unless a person names the line
};

struct PinUse {
    PinNow now = PinNow::unknown;
    std::string what;  ///< of `other`: "sdhost for 3f202000.mmc"; of `unknown`: why
};

/// What a line's pin is used as, by the pin controllers' view [linux Documentation/driver-api/
/// pin-control.rst]. A pin that nobody has claimed is unknown: the firmware may have set it to
/// anything.
PinUse pin_use(const Known<Pins>& pins, const Chip& chip, unsigned offset);

}  // namespace nightlatch::lines
