// SPDX-License-Identifier: MIT
#pragma once

#include "base/result.hpp"
#include "config/settings.hpp"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::gpio {

/// What a chip says of itself.
struct ChipFacts {
    std::string name;   ///< the kernel's, e.g. "gpiochip0"; may be another one after the next boot
    std::string label;  ///< the driver's, at most 31 bytes
    std::size_t lines = 0;
};

/// "gpiochip0 [soc-gpio]".
std::string text_of(const ChipFacts& chip);

/// The devices of GPIO chips in a directory, by number. Symbolic links are left out: they stand for
/// a chip that is there under its own name as well.
std::vector<std::string> chip_devices(const std::string& directory);

/// The device that a chip's name or path means; nothing if it can only be a label.
std::optional<std::string> device_of(const std::string& directory, const std::string& chip);

/// The offset that a line's name, or its offset in digits, means on a chip with these line names
/// (by offset, empty for nameless lines). Trouble: no_line, ambiguous.
Result<unsigned> pick_line(const ChipFacts& chip,
                           const std::vector<std::string>& names,
                           const std::string& line);

/// Whether a device below this path in sysfs sits behind a bus whose transfers sleep, so that its
/// edges are read late: I2C, SPI, USB. Goes by the names that the kernel gives to the adapters'
/// devices (i2c-N, spiN under spi_master, usbN); a chip below another slow bus is not recognised.
bool behind_slow_bus(std::string_view sysfs_path);

}  // namespace nightlatch::gpio
