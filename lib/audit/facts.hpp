// SPDX-License-Identifier: MIT
#pragma once

#include "audit/kernel_facts.hpp"
#include "audit/power_keys.hpp"
#include "audit/power_off_facts.hpp"
#include "base/known.hpp"
#include "base/level.hpp"
#include "base/time.hpp"
#include "bootfiles/intent.hpp"
#include "config/load.hpp"
#include "devicetree/tree.hpp"
#include "lines/pins.hpp"

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

/// Everything that an audit may go by, as values. Gathered by daemon/facts, daemon/gpio and
/// daemon/login from a running board, by daemon/facts from an image, or read from files; a fact
/// that a front end cannot have is Known::missing with the reason.
namespace nightlatch::audit {

enum class Source : unsigned char {
    live,   ///< the machine that this runs on
    image,  ///< a mounted image: nothing that only a running kernel knows
    files,  ///< a blob with overlays: only the tree
};

/// The level of a configured input line, read without changing anything but its being held.
struct RestLevel {
    bool high = false;
};

struct KernelVersion {
    unsigned major = 0;
    unsigned minor = 0;
    std::string release;  ///< as uname(2) gives it
    std::string build{};  ///< its number and day, as uname(2) gives them; "" when not known

    [[nodiscard]] bool at_least(unsigned wanted_major, unsigned wanted_minor) const noexcept {
        return major > wanted_major || (major == wanted_major && minor >= wanted_minor);
    }
};

enum class Built : unsigned char { in, module, out };

/// The kernel's post-halt driver, poweroff-gpio.
struct PostHaltDriver {
    /// Its directory /sys/bus/platform/drivers/poweroff-gpio is there: it is compiled in.
    Known<bool> registered;
    /// Device-tree paths of the devices that it is bound to.
    Known<std::vector<std::string>> bound;
    /// CONFIG_POWER_RESET_GPIO of the kernel's configuration, which may be there or not.
    Known<Built> configured;
    /// Device-tree paths whose probe waits for something [/sys/kernel/debug/devices_deferred, or
    /// the devices' waiting_for_supplier].
    Known<std::vector<std::string>> deferred;
    /// Lines of the kernel's log about it or about another power-off handler, newest last.
    Known<std::vector<std::string>> log;
};

struct Inhibitor {
    std::string what;
    std::string who;
    std::string why;
    std::string mode;
    std::uint32_t uid = 0;
    std::uint32_t pid = 0;
};

/// The login manager's answers [org.freedesktop.login1(5)].
struct LoginFacts {
    Known<std::string> handle_power_key;  ///< "poweroff", "ignore", …
    Known<std::string> handle_power_key_long_press;
    Known<std::string> block_inhibited;  ///< "handle-power-key:shutdown"
    Known<Duration> delay_limit;         ///< InhibitDelayMaxUSec
    Known<std::vector<Inhibitor>> inhibitors;
    /// May the service's account power off, with somebody logged in or not: polkit's answer for
    /// both actions; "yes", "no", or polkit's other words.
    Known<std::string> may_power_off;
    Known<std::string> may_power_off_multiple_sessions;
};

/// A chip that the service opens.
struct ChipAccess {
    std::string chip;      ///< "gpiochip0"
    Known<bool> may_open;  ///< for reading and writing: the account, with the unit's groups
    std::string owner;     ///< "root:gpio 0660", for the evidence
};

/// The service's account and what it may open.
struct AccountFacts {
    Known<bool> exists;
    Known<std::vector<ChipAccess>> chips;  ///< those that the configuration's lines are on
};

struct ServiceManagerFacts {
    Known<Duration> default_stop_timeout;             ///< DefaultTimeoutStopSec
    Known<std::optional<Duration>> runtime_watchdog;  ///< RuntimeWatchdogSec; nothing: off
    Known<std::optional<Duration>> reboot_watchdog;   ///< RebootWatchdogSec; nothing: off
};

/// What is missing of an image, or of files, ends so: nobody can see it there.
inline constexpr const char* only_running = "only a running board knows";

struct Mount {
    std::string where;  ///< "/", "/boot/firmware"
    std::string type;   ///< "ext4", "overlay", "squashfs", "vfat"
    bool read_only = false;
    std::string device{};  ///< its numbers, "254:1", the same for each mount of one file system
};

/// A line of /etc/fstab: a file system that the boot mounts [fstab(5)].
struct BootMount {
    std::size_t line = 0;
    std::string where;
    std::string type;
    std::vector<std::string> options;
};

/// A watchdog device of the kernel [/sys/class/watchdog].
struct Watchdog {
    std::string name;
    std::string identity;
    Known<bool> active;
    Known<Duration> timeout;
    Known<bool> nowayout;
};

struct HangFacts {
    Known<int> panic_seconds;  ///< kernel.panic; 0: for ever
    Known<int> sysrq;          ///< kernel.sysrq; bit 128 (or 1): reboot and power-off
    Known<bool> panic_on_oops;
};

/// An LED of the LED class.
struct LedFacts {
    std::string name;
    std::string node;  ///< device-tree path of it or of its device; empty when unknown
    Known<bool> writable_by_service;
    std::vector<std::string> triggers;
};

/// The configuration that is audited.
struct ConfigFacts {
    std::string file;
    config::Loaded loaded;
};

struct Facts {
    Source source = Source::live;
    std::string where;  ///< for people: "this machine", "the image at /mnt", "board.dtb"
    Known<ConfigFacts> config;
    Known<devicetree::Tree> tree;
    Known<std::vector<lines::Chip>> chips;
    Known<RestLevel> button_level;
    Known<std::vector<Known<RestLevel>>> alarm_levels;  ///< one for each alarm, in their order
    Known<KernelVersion> kernel;
    KernelFacts booted;
    PostHaltDriver driver;
    PowerOffFacts power_off;
    Known<lines::Pins> pins;
    Known<std::vector<PowerKeySource>> power_keys;
    Known<LoginUnit> login_unit;
    Known<LoginFacts> login;
    AccountFacts account;
    ServiceManagerFacts manager;
    Known<std::vector<Mount>> mounts;
    Known<std::vector<BootMount>> boot_mounts;
    Known<std::vector<Watchdog>> watchdogs;
    HangFacts hang;
    Known<std::vector<LedFacts>> leds;
    /// Empty when no boot loader's text that we read is there.
    Known<std::vector<bootfiles::Intent>> boot;
};

}  // namespace nightlatch::audit
