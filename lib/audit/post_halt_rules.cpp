// SPDX-License-Identifier: MIT
#include "audit/post_halt.hpp"

#include <array>

namespace nightlatch::audit {
namespace {

using std::string_view;

constexpr std::array<string_view, 1> node{"post-halt-node"};
constexpr std::array<string_view, 1> enabled{"post-halt-enabled"};
constexpr std::array<string_view, 1> single{"post-halt-single"};
constexpr std::array<string_view, 4> for_bound{
    "post-halt-driver", "post-halt-single", "post-halt-claimed", "post-halt-priority"};

constexpr std::array rules{
    Rule{"post-halt-node",
         Group::post_halt,
         "The device tree has a post-halt node",
         "The supply goes off only when a line tells it to, and only the kernel still runs when "
         "the file systems are safe. Its gpio-poweroff driver raises the line that a device-tree "
         "node compatible with \"gpio-poweroff\" names [linux "
         "Documentation/devicetree/bindings/power/reset/gpio-poweroff.yaml].",
         {},
         post_halt::node_is_there,
         Bearing::exists},
    Rule{"post-halt-enabled",
         Group::post_halt,
         "The post-halt node is enabled",
         "The kernel makes no device of a node whose status, or that of a node above it, is "
         "anything but \"okay\" [Devicetree Specification, 2.3.4].",
         node,
         post_halt::node_is_enabled,
         Bearing::exists},
    Rule{"post-halt-single",
         Group::post_halt,
         "There is one post-halt node only",
         "Before Linux 6.7 the driver keeps its state once and a second instance fails; from then "
         "on several act one after the other, each with its own delays, so that the right line may "
         "come seconds late [linux drivers/power/reset/gpio-poweroff.c, kernel/reboot.c].",
         enabled,
         post_halt::node_is_single,
         Bearing::decides},
    Rule{"post-halt-line",
         Group::post_halt,
         "The post-halt line is the one that the circuit is on",
         "Controller and offset of the node are compared with [post_halt] chip and line. A line "
         "that leads nowhere raises nothing, and one that leads elsewhere switches something else. "
         "What [post_halt] leaves out is not known, and is never compared with itself.",
         single,
         post_halt::line_is_right,
         Bearing::decides},
    Rule{"post-halt-polarity",
         Group::post_halt,
         "The post-halt line's polarity is as the circuit expects",
         "The driver holds the line inactive while the board runs and active after halt. With the "
         "polarity the wrong way round the circuit sees its release all the time, and drops the "
         "supply as soon as the finger lifts, or never.",
         single,
         post_halt::polarity_is_right,
         Bearing::decides},
    Rule{"post-halt-drive",
         Group::post_halt,
         "The post-halt line is driven to both its levels",
         "With the flags open drain or open source the kernel drives one level only; for the other "
         "it makes the line an input, and whatever pulls it decides [linux "
         "include/dt-bindings/gpio/gpio.h, drivers/gpio/gpiolib.c, gpiod_direction_output].",
         single,
         post_halt::is_driven_both_ways},
    Rule{"post-halt-pulse",
         Group::post_halt,
         "The first pulse is as long as the circuit needs",
         "After halt the line is active for active-delay-ms, inactive for inactive-delay-ms, then "
         "active for good. A latch that needs longer than the first pulse opens only in the final "
         "level, later than its capacitor may have been sized for. Where [circuit] is complete its "
         "need is computed, at the worst corner of every tolerance, and the longer of that and "
         "[post_halt] pulse counts.",
         single,
         post_halt::pulse_is_long_enough,
         Bearing::decides},
    Rule{"post-halt-final",
         Group::post_halt,
         "The final level lasts long enough",
         "The kernel leaves the line active and gives up after timeout-ms, with a warning and a "
         "stack trace that many take for a crash. From Linux 6.7 on it then goes on to the next "
         "way off, mostly the firmware's (PSCI), or the processor's reset into its halt, where the "
         "boot loader's settings decide about the rails; after that nothing drives the line [linux "
         "kernel/reboot.c, drivers/firmware/psci/psci.c, drivers/watchdog/bcm2835_wdt.c].",
         single,
         post_halt::final_level_lasts},
    Rule{"post-halt-input",
         Group::post_halt,
         "The kernel drives the post-halt line while the board runs",
         "With the property `input` the line is an input until the power-off itself; a line that "
         "floats then releases the supply when it likes.",
         single,
         post_halt::is_driven_from_the_start},
    Rule{"post-halt-driver",
         Group::post_halt,
         "The post-halt driver is in the kernel",
         "CONFIG_POWER_RESET_GPIO is either built in or not there: it is never a module "
         "[linux drivers/power/reset/Kconfig]. Debian's generic arm64 kernels come without.",
         {},
         post_halt::driver_is_built_in,
         Bearing::decides},
    Rule{"post-halt-priority",
         Group::post_halt,
         "The post-halt node's priority is one that the driver takes",
         "From Linux 6.7 on the node may say at which priority it stands among the ways off, 0 to "
         "255; with another number the driver gives up (-EINVAL) [linux "
         "Documentation/devicetree/bindings/power/reset/restart-handler.yaml, "
         "drivers/power/reset/gpio-poweroff.c].",
         single,
         post_halt::priority_is_taken},
    Rule{"post-halt-bound",
         Group::post_halt,
         "The driver is bound to the post-halt node",
         "Only a driver that has taken the node's device raises the line. It fails when the one "
         "power-off slot of kernels before 6.7 is taken, when somebody else holds the line, and "
         "while it waits for the line's controller [linux drivers/power/reset/gpio-poweroff.c].",
         for_bound,
         post_halt::driver_is_bound,
         Bearing::decides},
    Rule{
        "post-halt-first",
        Group::post_halt,
        "No other way off acts before the post-halt line",
        "The kernel asks its ways off one after the other, by their priority; the first that works "
        "is the last that runs. A power chip may cut the rails while the power-off is prepared, "
        "before any level changes; EFI's run-time services come before all drivers; and others "
        "stand at the post-halt node's own priority, 0, where the driver that came first acts "
        "first. Before Linux 6.7 the post-halt driver has the one slot, behind the chain. Read in "
        "Linux 6.1.192 and 6.12.117 [linux kernel/reboot.c, include/linux/reboot.h, "
        "drivers/firmware/efi/reboot.c, and what the report names for each].",
        single,
        post_halt::acts_first},
    Rule{"post-halt-chip",
         Group::post_halt,
         "The post-halt line needs no bus transfer",
         "The power-off runs with interrupts off and the other processors stopped [linux "
         "arch/arm64/kernel/process.c, machine_power_off]: a transfer over I2C or SPI may not come "
         "to its end then.",
         single,
         post_halt::chip_does_not_sleep},
    Rule{"post-halt-claimed",
         Group::post_halt,
         "Nobody else claims the post-halt line",
         "A line has one holder. A hog, an LED, a key or another device on it, or a program that "
         "holds it, keeps the driver out, or moves the supply's release while the board runs.",
         single,
         post_halt::nobody_else_claims_it},
    Rule{
        "post-halt-function",
        Group::post_halt,
        "The post-halt line's pad is GPIO, and nobody sets it to anything else",
        "A pad serves one function at a time. Where the kernel's pin controller sets it to GPIO at "
        "the request, a device whose pinctrl-0 names the same pad takes it away again or has its "
        "signal on the supply's release until then; where it does not, the pad stays as it was, "
        "and the line moves nothing [linux Documentation/driver-api/pin-control.rst, "
        "drivers/pinctrl/freescale/pinctrl-imx.c, drivers/pinctrl/pinctrl-single.c].",
        single,
        post_halt::pad_is_gpio},
    Rule{
        "post-halt-start",
        Group::post_halt,
        "The post-halt line rests inactive from power-on",
        "Until the driver is probed the line rests where the pin's own pull or the firmware leaves "
        "it. A line that rests at its active level feeds the hold capacitor, and can drop the "
        "supply as soon as the finger lifts. A reboot resets the pins, too: a board that is to "
        "start again then stays off [BCM2835 ARM Peripherals, 6.2, for the pulls after a reset; "
        "that other processors do the same is common practice, no source].",
        single,
        post_halt::rests_inactive_from_power_on},
};

}  // namespace

std::span<const Rule> post_halt_rules() {
    return rules;
}

}  // namespace nightlatch::audit
