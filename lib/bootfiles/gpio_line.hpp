// SPDX-License-Identifier: MIT
#pragma once

#include "bootfiles/intent.hpp"

namespace nightlatch::bootfiles {

/// What stands after `gpio=`.
struct GpioSetting {
    std::vector<unsigned> lines;
    EarlyLine state;      ///< of each of them; its `line` is not set
    std::string trouble;  ///< what the firmware cannot make sense of; empty: nothing
};

/// "17,20-22=op,dh" [raspberrypi/documentation, config_txt/gpio.adoc]. Of an option that is none
/// the others hold; a list of lines that is none leaves no lines. What the firmware does with
/// either is not documented.
GpioSetting read_gpio(std::string_view value);

}  // namespace nightlatch::bootfiles
