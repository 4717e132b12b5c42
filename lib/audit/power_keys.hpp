// SPDX-License-Identifier: MIT
#pragma once

#include "base/known.hpp"

#include <string>
#include <vector>

/// Who presses a power key, and who listens.
namespace nightlatch::audit {

/// An input device that can press a power key.
struct PowerKeySource {
    std::string device;  ///< "event0"
    std::string name;
    bool tagged = false;          ///< udev's tag power-switch: the login manager watches it
    std::vector<unsigned> codes;  ///< those of 116, 142, 205, 356, 408 that it can send
    std::string node;             ///< device-tree path of its device; empty when it has none
    std::string driver;           ///< of the nearest device above it; empty when there is none
    unsigned bus = 0;             ///< as it says itself [linux include/uapi/linux/input.h, BUS_*]
    bool remote = false;          ///< below a receiver of remote controls
    /// Programs that have it open, "systemd-logind (612)".
    Known<std::vector<std::string>> readers;
};

/// The login manager's unit, systemd-logind.service.
enum class LoginUnit : unsigned char { there, masked, absent };

enum class KeyKind : unsigned char {
    tree,        ///< a gpio-keys node
    power_chip,  ///< a power chip's own driver: no node of its own to take away
    cec,         ///< what is connected by HDMI
    remote,      ///< an infrared remote
    keyboard,    ///< USB, Bluetooth
    other,
};

struct Facts;

/// A power key, and in words who hears it.
struct HeardKey {
    PowerKeySource source;
    std::string heard;  ///< "the login manager (HandlePowerKey = poweroff)"
};

/// Of every device that sends KEY_POWER or KEY_POWER2; none when the devices are not known.
std::vector<HeardKey> heard_keys(const Facts& facts);

bool sends_power(const PowerKeySource& source);

/// Programs beside the login manager that have it open.
std::vector<std::string> other_readers(const PowerKeySource& source);

/// There is none, or nobody can start it.
bool is_without_login_manager(const Facts& facts);

KeyKind kind_of(const PowerKeySource& source);

/// "a key of the device tree", "a remote control".
std::string_view text_of(KeyKind kind) noexcept;

/// Text for a udev rule that takes the tag from this device alone.
std::string untag_rule(const PowerKeySource& source);

}  // namespace nightlatch::audit
