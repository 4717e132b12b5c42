// SPDX-License-Identifier: MIT
#pragma once

#include "audit/facts.hpp"

#include <string_view>

namespace nightlatch::facts {

/// Input devices that can send one of the keys that a login manager acts on, from
/// <root>/sys/class/input and udev's tags below <root>/run/udev, with who has each open, from
/// <root>/proc [logind.conf(5),
/// HandlePowerKey=; systemd's rules.d/70-power-switch.rules].
Known<std::vector<audit::PowerKeySource>> read_power_keys(const std::string& root);

/// Whether there is a login manager's unit below the root, and whether it is masked.
Known<audit::LoginUnit> read_login_unit(const std::string& root);

/// Bits set in capabilities/key: hexadecimal words, the highest first, each as wide as `long` of
/// the program that reads [linux drivers/input/input.c, input_print_bitmap]; of the keys 116,
/// 142, 205, 356 and 408 only [linux include/uapi/linux/input-event-codes.h].
std::vector<unsigned> power_codes(std::string_view words, unsigned word_bits = sizeof(long) * 8);

}  // namespace nightlatch::facts
