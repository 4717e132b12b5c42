// SPDX-License-Identifier: MIT
#pragma once

#include <span>
#include <string_view>

/// Who can switch a board off in Linux, as data: which device-tree node leads to which place among
/// the kernel's ways off. Read in the sources of Linux 6.1.192 and 6.12.117, at the file that each
/// row names; between the two a row holds only when both columns are the same.
namespace nightlatch::audit {

enum class Stand : unsigned char {
    none,      ///< this kernel has no such driver, or it registers nothing
    if_empty,  ///< takes the one slot, pm_power_off, unless somebody has it
    always,    ///< takes the slot, whoever has it
    chain,     ///< a handler of the chain, at a priority; higher ones run first
    prepare,   ///< a handler of the chain that runs before all of those
};

/// [linux include/linux/reboot.h, SYS_OFF_PRIO_*]
inline constexpr int low_priority = -128;
inline constexpr int default_priority = 0;
inline constexpr int high_priority = 192;
inline constexpr int firmware_priority = 224;
/// EFI's ResetSystem [linux drivers/firmware/efi/reboot.c].
inline constexpr int efi_priority = firmware_priority + 1;

struct Standing {
    Stand stand = Stand::none;
    int priority = default_priority;

    bool operator==(const Standing&) const = default;
};

enum class Origin : unsigned char {
    driver,  ///< a device of the node, once a driver is bound to it
    kernel,  ///< the kernel's own start-up, when it finds the node
};

struct PowerOffHandler {
    std::string_view compatible;  ///< "x-powers,axp*": all that begin so, without a further "-"
    std::string_view what;        ///< for people: "the power chip"
    /// It registers only with one of these properties, blanks between them; "" without any.
    std::string_view asks_for;
    Standing in_6_1;
    Standing in_6_12;
    std::string_view source;  ///< in Linux
    Origin origin = Origin::driver;
};

std::span<const PowerOffHandler> power_off_handlers();

/// Of a node's compatible strings that one; null when no handler goes by it.
const PowerOffHandler* power_off_handler(std::string_view compatible);

/// Has this module of Linux 6.12 no handler but those above, or none at all? Of the modules of
/// drivers/power/reset, and of those of other folders that the rows above name.
bool is_known_module(std::string_view module);

}  // namespace nightlatch::audit
