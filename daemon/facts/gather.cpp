// SPDX-License-Identifier: MIT
#include "daemon/facts/gather.hpp"

#include "daemon/facts/account.hpp"
#include "daemon/facts/boot_files.hpp"
#include "daemon/facts/deferred.hpp"
#include "daemon/facts/driver.hpp"
#include "daemon/facts/hang.hpp"
#include "daemon/facts/kernel.hpp"
#include "daemon/facts/kernel_config.hpp"
#include "daemon/facts/kernel_facts.hpp"
#include "daemon/facts/kernel_log.hpp"
#include "daemon/facts/leds.hpp"
#include "daemon/facts/live_tree.hpp"
#include "daemon/facts/mounts.hpp"
#include "daemon/facts/pins.hpp"
#include "daemon/facts/polkit_rule.hpp"
#include "daemon/facts/power_keys.hpp"
#include "daemon/facts/power_off.hpp"
#include "daemon/facts/systemd_config.hpp"
#include "daemon/facts/watchdogs.hpp"
#include "devicetree/values.hpp"

namespace nightlatch::facts {
namespace {

/// Of whatever type is asked for.
struct OnlyRunning {
    const char* what;

    template <class T>
    operator Known<T>() const {  // NOLINT(google-explicit-constructor): it stands for a Known
        return Known<T>::missing(std::string(what) + ": " + audit::only_running);
    }
};

std::vector<std::string> compatible_of(const Known<devicetree::Tree>& tree) {
    const std::string* value = tree ? tree->value(devicetree::root, "compatible") : nullptr;
    return value != nullptr ? devicetree::strings_of(*value) : std::vector<std::string>{};
}

/// What neither an image nor a blob can tell.
void leave_out_live(audit::Facts& facts) {
    facts.tree = OnlyRunning{"the device tree with all that was applied to it"};
    facts.chips = OnlyRunning{"the chips"};
    facts.button_level = OnlyRunning{"the button's level"};
    facts.alarm_levels = OnlyRunning{"the alarms' levels"};
    facts.kernel = OnlyRunning{"the kernel's version"};
    facts.booted.arguments = OnlyRunning{"the kernel's command line"};
    facts.booted.installed = OnlyRunning{"which kernel runs beside those that are installed"};
    facts.driver.registered = OnlyRunning{"the kernel's drivers"};
    facts.driver.bound = OnlyRunning{"what the post-halt driver is bound to"};
    facts.driver.configured = OnlyRunning{"the kernel's configuration"};
    facts.driver.deferred = OnlyRunning{"the devices that wait for others"};
    facts.driver.log = OnlyRunning{"the kernel's log"};
    facts.power_off.bound = OnlyRunning{"the drivers that are bound"};
    facts.power_off.efi = OnlyRunning{"whether EFI started it"};
    facts.pins = OnlyRunning{"pinctrl's view"};
    facts.power_keys = OnlyRunning{"the input devices"};
    facts.login_unit = OnlyRunning{"the login manager's unit"};
    facts.login = OnlyRunning{"the login manager's answers"};
    facts.account.exists = OnlyRunning{"the service's account"};
    facts.account.chips = OnlyRunning{"the chips' owner and mode"};
    facts.manager.default_stop_timeout = OnlyRunning{"the service manager's stop time-out"};
    facts.manager.runtime_watchdog = OnlyRunning{"the service manager's watchdog"};
    facts.manager.reboot_watchdog = OnlyRunning{"the service manager's watchdog at shutdown"};
    facts.mounts = OnlyRunning{"what is mounted"};
    facts.boot_mounts = OnlyRunning{"what the boot mounts"};
    facts.watchdogs = OnlyRunning{"the watchdogs"};
    facts.hang = {OnlyRunning{"kernel.panic"},
                  OnlyRunning{"kernel.sysrq"},
                  OnlyRunning{"kernel.panic_on_oops"}};
    facts.leds = OnlyRunning{"the LEDs"};
    facts.boot = OnlyRunning{"the boot loader's text"};
}

void take_running(audit::Facts& facts, const Where& where) {
    const std::string& root = where.root;
    facts.where = "this machine";
    facts.tree = read_live_tree(root);
    facts.kernel = running_kernel();
    facts.booted = read_kernel_facts(root);
    facts.driver = read_post_halt_driver(root);
    facts.driver.configured = facts.kernel
                                  ? read_post_halt_config(root, facts.kernel->release)
                                  : Known<audit::Built>::missing(facts.kernel.what_is_missing());
    facts.driver.deferred = read_deferred(root);
    facts.driver.log = read_power_off_log(root);
    facts.power_off = read_power_off(root, this_kernel());
    facts.pins = read_pins(root);
    facts.power_keys = read_power_keys(root);
    facts.login_unit = read_login_unit(root);
    facts.account = read_account(root);
    facts.mounts = read_mounts(root);
    facts.boot_mounts = read_boot_mounts(root);
    facts.watchdogs = read_watchdogs(root);
    facts.hang = read_hang(root);
    facts.leds = read_leds(root);
    facts.boot = read_boot_files(root, compatible_of(facts.tree));
}

void take_image(audit::Facts& facts, const std::string& root) {
    facts.where = "the image at " + root;
    const auto kernels = kernels_of_image(root);
    facts.kernel = kernel_among(kernels);
    facts.driver.configured = post_halt_config_of(root, kernels);
    if (!facts.driver.configured) {
        // Of the two the one that files could tell.
        facts.driver.registered = Known<bool>::missing(facts.driver.configured.what_is_missing());
    }
    audit::LoginFacts login;
    read_logind_config(root, login);
    login.block_inhibited = OnlyRunning{"the inhibitors"};
    login.inhibitors = OnlyRunning{"the inhibitors"};
    login.may_power_off = power_off_by_rule(root);
    login.may_power_off_multiple_sessions = login.may_power_off;
    facts.login = std::move(login);
    facts.login_unit = read_login_unit(root);
    facts.account = account_of_image(root);
    facts.manager = read_manager_config(root);
    facts.mounts = mounts_of_image(root);
    facts.boot_mounts = read_boot_mounts(root);
    facts.hang = hang_of_image(root);
    facts.boot = read_boot_files(root, {});
}

}  // namespace

audit::Facts gather(const Where& where) {
    audit::Facts facts;
    facts.source = where.source;
    switch (where.source) {
    case audit::Source::live:
        take_running(facts, where);
        break;
    case audit::Source::image:
        leave_out_live(facts);
        take_image(facts, where.root);
        break;
    case audit::Source::files:
        leave_out_live(facts);
        break;
    }
    return facts;
}

}  // namespace nightlatch::facts
