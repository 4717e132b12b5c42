// SPDX-License-Identifier: MIT
#pragma once

#include <string>
#include <vector>

/// GPIO chips and their lines as values; which of them a text means; which suit a button.
namespace nightlatch::lines {

enum class Bias : unsigned char { as_is, none, pull_up, pull_down };

/// A line as the kernel tells it [linux include/uapi/linux/gpio.h, gpio_v2_line_info].
struct Line {
    std::string name;  ///< may be empty; the kernel does not make it unique
    bool used = false;
    std::string consumer;  ///< who holds it, as far as it says; not to be relied on
    bool output = false;
    bool active_low = false;
    Bias bias = Bias::as_is;  ///< as requested, not as wired
};

struct Chip {
    std::string name;   ///< "gpiochip0": the kernel's; may be another one after the next boot
    std::string label;  ///< the driver's, at most 31 bytes
    std::string path;   ///< of its device, "/dev/gpiochip0"
    std::vector<std::string> aliases;  ///< other paths that lead to it: symbolic links
    std::string node;     ///< path of its device-tree node ("/pl061@9030000"); empty without one
    bool sleeps = false;  ///< behind I2C, SPI or USB
    std::vector<Line> lines;  ///< by offset
};

/// "gpiochip0 [soc-gpio]"; safe text.
std::string text_of(const Chip& chip);

/// A line as a person wrote it.
struct LineName {
    std::string chip;  ///< label, name (gpiochip0), path (/dev/gpiochip0), or node path
    std::string line;  ///< line name, or offset in decimal digits

    bool operator==(const LineName&) const = default;
};

}  // namespace nightlatch::lines
