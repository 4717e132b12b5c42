// SPDX-License-Identifier: MIT
#include "audit/power_keys.hpp"

#include "audit/facts.hpp"
#include "base/text.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::audit {
namespace {

/// Drivers of keys that a power chip or the processor itself has [linux 6.12 drivers/input/misc,
/// drivers/input/keyboard]. The device is made by the chip's driver, and no node of the tree is the
/// key's alone.
constexpr std::array chip_drivers = {
    "88pm80x-onkey",     "88pm860x-onkey", "88pm886-onkey",      "ab8500-poweron-key",
    "atc260x-onkey",     "axp20x-pek",     "bbnsm_pwrkey",       "cpcap-pwrbutton",
    "da9052-onkey",      "da9055-onkey",   "da9062-onkey",       "da9063-onkey",
    "hi65xx-powerkey",   "max77650-onkey", "max8925-onkey",      "mtk-pmic-keys",
    "palmas_pwrbutton",  "pcap-keys",      "pm8941-pwrkey",      "pm8xxx-pwrkey",
    "retu-pwrbutton",    "rk805-pwrkey",   "rt5120-pwrkey",      "scmi-imx-bbm-key",
    "snvs_pwrkey",       "stpmic1_onkey",  "tps6521x_pwrbutton", "tps65219_pwrbutton",
    "twl4030_pwrbutton",
};

/// [linux include/uapi/linux/input.h]
constexpr unsigned bus_usb = 0x03;
constexpr unsigned bus_bluetooth = 0x05;
constexpr unsigned bus_cec = 0x1E;

std::string by_login_manager(const Facts& facts, const PowerKeySource& source) {
    if (is_without_login_manager(facts)) {
        return *facts.login_unit == LoginUnit::masked
                   ? "no login manager: systemd-logind.service is masked"
                   : "no login manager: there is no systemd-logind.service";
    }
    if (!source.tagged) {
        return "not the login manager: udev's tag power-switch is not on it";
    }
    const bool known = facts.login && facts.login->handle_power_key;
    return "the login manager (HandlePowerKey = " +
           (known ? safe(*facts.login->handle_power_key) : std::string("not known")) + ")";
}

}  // namespace

bool sends_power(const PowerKeySource& source) {
    // KEY_POWER, KEY_POWER2 [linux include/uapi/linux/input-event-codes.h]
    return std::any_of(source.codes.begin(), source.codes.end(), [](unsigned code) {
        return code == 116 || code == 356;
    });
}

std::vector<std::string> other_readers(const PowerKeySource& source) {
    std::vector<std::string> others = source.readers ? *source.readers : std::vector<std::string>{};
    std::erase_if(others,
                  [](const std::string& reader) { return reader.starts_with("systemd-logind "); });
    return others;
}

bool is_without_login_manager(const Facts& facts) {
    // Another login manager that answers for the bus name is one, too.
    const bool answers = facts.login && facts.login->handle_power_key;
    return !answers && facts.login_unit && *facts.login_unit != LoginUnit::there;
}

std::vector<HeardKey> heard_keys(const Facts& facts) {
    std::vector<HeardKey> keys;
    for (const PowerKeySource& source :
         facts.power_keys ? *facts.power_keys : std::vector<PowerKeySource>{}) {
        if (!sends_power(source)) {
            continue;
        }
        std::string heard = by_login_manager(facts, source);
        for (const std::string& reader : other_readers(source)) {
            heard += ", " + safe(reader);
        }
        keys.push_back({source, std::move(heard)});
    }
    return keys;
}

KeyKind kind_of(const PowerKeySource& source) {
    if (source.bus == bus_cec) {
        return KeyKind::cec;
    }
    if (source.remote) {
        return KeyKind::remote;
    }
    if (source.bus == bus_usb || source.bus == bus_bluetooth) {
        return KeyKind::keyboard;
    }
    if (source.driver == "gpio-keys" || source.driver == "gpio-keys-polled") {
        return KeyKind::tree;
    }
    return std::find(chip_drivers.begin(), chip_drivers.end(), source.driver) != chip_drivers.end()
               ? KeyKind::power_chip
               : KeyKind::other;
}

std::string_view text_of(KeyKind kind) noexcept {
    switch (kind) {
    case KeyKind::tree:
        return "a key of the device tree";
    case KeyKind::power_chip:
        return "a chip's own key";
    case KeyKind::cec:
        return "a device at HDMI (CEC)";
    case KeyKind::remote:
        return "a remote control";
    case KeyKind::keyboard:
        return "a keyboard or receiver";
    case KeyKind::other:
        return "an input device";
    }
    return "";
}

std::string untag_rule(const PowerKeySource& source) {
    // What a rule cannot quote, any one character stands for [udev(7)].
    std::string name = safe(source.name);
    std::replace_if(
        name.begin(),
        name.end(),
        [](char c) { return c == '"' || c == '\\' || c == '*' || c == '[' || c == '|'; },
        '?');
    constexpr std::size_t longest_name = 256;
    return "/etc/udev/rules.d/71-power-key.rules\n"
           "    SUBSYSTEM==\"input\", KERNEL==\"event*\", ATTRS{name}==" +
           in_quotes(name, longest_name) + ", TAG-=\"power-switch\"";
}

}  // namespace nightlatch::audit
