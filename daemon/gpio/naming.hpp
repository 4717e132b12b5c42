// SPDX-License-Identifier: MIT
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::gpio {

/// The devices of GPIO chips in a directory, by number. Symbolic links are left out: they stand for
/// a chip that is there under its own name as well.
std::vector<std::string> chip_devices(const std::string& directory);

/// A symbolic link and the file that it leads to, through other links too.
struct Link {
    std::string path;
    std::string target;  ///< as realpath(3) gives it
};

/// The symbolic links in a directory and in the folders below it, by path; those that lead nowhere
/// are left out, and so are other file systems that are mounted there.
std::vector<Link> links_below(const std::string& directory);

/// Whether a device below this path in sysfs sits behind a bus whose transfers sleep, so that its
/// edges are read late: I2C, SPI, USB. Goes by the names that the kernel gives to the adapters'
/// devices (i2c-N, spiN under spi_master, usbN); a chip below another slow bus is not recognised.
bool behind_slow_bus(std::string_view sysfs_path);

/// The path in the device tree of the node of a chip ("gpiochip0"), by sysfs; empty without one.
std::string node_of(const std::string& sys, const std::string& chip);

}  // namespace nightlatch::gpio
