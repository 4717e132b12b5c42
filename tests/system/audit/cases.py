# SPDX-License-Identifier: MIT
"""For each rule one unit with which it must find something, and one with which it must pass.

`bad` and `good` change a Unit; the good one of most rules is the unit as it is. `carries` names the
front ends that can carry the defect: in the others the rule must say that it cannot tell, or that
there is nothing to judge; passing there would be passing unseen.
"""

from typing import Callable, NamedTuple

LIVE, BLOB, IMAGE = "live", "blob", "image"


class Case(NamedTuple):
    bad: Callable
    carries: tuple
    good: Callable | None = None  # none: the unit as it is
    passes: tuple | None = None  # where the good unit must pass; else where `carries` says


def more_tree(text):
    def change(unit):
        unit.tree += text + "\n"
    return change


def tree(old, new):
    def change(unit):
        assert old in unit.tree, old
        unit.tree = unit.tree.replace(old, new, 1)
    return change


def config(old, new):
    def change(unit):
        assert old in unit.config, old
        unit.config = unit.config.replace(old, new, 1)
    return change


def file(path, text):
    def change(unit):
        unit.files[path] = text
    return change


def calls(**changes):
    def change(unit):
        unit.calls |= changes
    return change


def login(**changes):
    def change(unit):
        unit.calls["login"] |= changes
    return change


def line(offset, **changes):
    def change(unit):
        unit.calls["chips"][0]["lines"][offset] |= changes
    return change


def all_of(*changes):
    def change(unit):
        for one in changes:
            one(unit)
    return change


def bound(bus, device, driver, node):
    """sysfs of a device of that node with a driver."""
    home = f"/sys/devices/{device}"
    return (file(f"/sys/bus/{bus}/devices/{device}", ("link", f"../../../devices/{device}")),
            file(f"{home}/driver", ("link", f"../../bus/{bus}/drivers/{driver}")),
            file(f"{home}/of_node", ("link", f"../../firmware/devicetree/base{node}")))


TREES = (LIVE, BLOB)
NODE = "supply-release {"
# A board of the family whose firmware reads config.txt; its numbers count on this controller.
FAMILY = all_of(tree('compatible = "pontoon,gpio"', 'compatible = "brcm,bcm2711-gpio"'),
                tree('compatible = "pontoon,tide-gauge"', 'compatible = "raspberrypi,4-model-b"'))
CONFIG_TXT = "/boot/firmware/config.txt"
POST_HALT_TEXT = "dtoverlay=gpio-poweroff,gpiopin=6,active_delay_ms=200\n"


def boot_text(text):
    return all_of(FAMILY, file(CONFIG_TXT, text))


SOUND_TEXT = boot_text("# the pontoon's own\n" + POST_HALT_TEXT)
OVERLAY = file("/boot/firmware/overlays/gpio-poweroff.dtbo", "")
# As Debian's raspi-firmware begins the file that it writes.
WRITTEN = "# Do not modify this file!\n# Use /etc/default/raspi-firmware-custom\n" + POST_HALT_TEXT
ALARM = """
[[alarm]]
name = "battery low"
chip = "soc-gpio"
line = "SPARE"
active = "low"
"""


def alarm(old="SPARE", new="SPARE", high=True):
    def change(unit):
        unit.config += ALARM.replace(old, new)
        unit.calls["alarms_high"] = [high]
    return change


KEY = '/ { keys { compatible = "gpio-keys"; lid { linux,code = <116>; gpios = <&gpio 3 1>; }; }; };'

SERIAL = ("&gpio { uart: uart-pins { brcm,pins = <5 6>; brcm,function = <2>; }; };"
          "/ { serial { pinctrl-0 = <&uart>; }; };")

CASES = {
    "post-halt-node": Case(more_tree("/ { /delete-node/ supply-release; };"), TREES),
    "post-halt-enabled": Case(tree(NODE, NODE + ' status = "disabled";'), TREES),
    "post-halt-single": Case(
        more_tree('/ { again { compatible = "gpio-poweroff"; gpios = <&gpio 7 0>; }; };'), TREES),
    "post-halt-line": Case(tree("<&gpio 6 0>", "<&gpio 7 0>"), TREES),
    "post-halt-polarity": Case(tree("<&gpio 6 0>", "<&gpio 6 1>"), TREES),
    "post-halt-drive": Case(tree("<&gpio 6 0>", "<&gpio 6 6>"), TREES),
    "post-halt-priority": Case(tree(NODE, NODE + " priority = <300>;"), TREES),
    "post-halt-function": Case(
        all_of(FAMILY, tree("<&gpio 6 0>", "<&gpio 6 1>"), more_tree(SERIAL)), TREES,
        lambda unit: all_of(FAMILY, tree("<&gpio 6 0>", "<&gpio 6 1>"))(unit)),
    "post-halt-pulse": Case(tree("active-delay-ms = <200>", "active-delay-ms = <50>"), TREES, passes=(LIVE,)),
    "post-halt-final": Case(tree(NODE, NODE + " timeout-ms = <20>;"), TREES),
    "post-halt-input": Case(tree(NODE, NODE + " input;"), TREES),
    "post-halt-driver": Case(
        all_of(file("/sys/bus/platform/drivers/poweroff-gpio/supply-release", None),
               file("/sys/bus/platform/drivers/.keep", ""),
               file("/boot/config-{release}", "# CONFIG_POWER_RESET_GPIO is not set\n")),
        (LIVE,)),
    "post-halt-bound": Case(
        all_of(file("/sys/bus/platform/drivers/poweroff-gpio/supply-release", None),
               file("/sys/bus/platform/drivers/poweroff-gpio/bind", ""), line(6, consumer="")),
        (LIVE,)),
    "post-halt-first": Case(
        all_of(more_tree('&{/soc/i2c@9040000} { pmic@1b { compatible = "rockchip,rk808"; '
                         "reg = <0x1b>; rockchip,system-power-controller; }; };"),
               *bound("i2c", "0-001b", "rk8xx-i2c", "/soc/i2c@9040000/pmic@1b")), TREES),
    "post-halt-chip": Case(tree("<&gpio 6 0>", "<&expander 2 0>"), TREES),
    "post-halt-claimed": Case(
        more_tree("&gpio { taken { gpio-hog; gpios = <6 0>; output-low; }; };"), TREES),
    # Of that family lines 0 to 8 are pulled up from power-on.
    "post-halt-start": Case(lambda unit: FAMILY(unit), TREES,
                            lambda unit: all_of(FAMILY, tree("<&gpio 6 0>", "<&gpio 6 1>"))(unit)),
    "line-ambiguous": Case(
        all_of(line(7, name="LID_BUTTON"), tree('"SPARE"', '"LID_BUTTON"')), (LIVE,)),
    "chip-by-number": Case(config('"soc-gpio"', '"gpiochip0"'), (LIVE,)),
    "button-line": Case(config('"LID_BUTTON"', '"LID_BUTTOM"'), (LIVE,)),
    "button-not-post-halt": Case(tree("<&gpio 6 0>", "<&gpio 3 0>"), TREES),
    "button-key": Case(more_tree(KEY), TREES),
    "button-led": Case(more_tree("/ { leds { other { gpios = <&gpio 3 0>; }; }; };"), TREES),
    "button-claimed": Case(more_tree("&gpio { held { gpio-hog; gpios = <3 0>; input; }; };"), TREES),
    "button-free": Case(line(3, consumer="tide recorder"), (LIVE,)),
    "button-function": Case(
        lambda unit: file("/sys/kernel/debug/pinctrl/9030000.pins/pinmux-pins",
                          unit.files["/sys/kernel/debug/pinctrl/9030000.pins/pinmux-pins"].replace(
                              "pin 3 (pin3): (MUX UNCLAIMED) soc-gpio:515",
                              "pin 3 (pin3): 9050000.serial (GPIO UNCLAIMED) function uart group u"))
        (unit), (LIVE,)),
    "button-sleeping": Case(
        all_of(config('chip = "soc-gpio"\nline = "LID_BUTTON"',
                      'chip = "float-expander"\nline = "HATCH"')), TREES),
    "button-rest": Case(calls(button_high=False), (LIVE,)),
    "button-bias": Case(config('pressed = "low"', 'pressed = "low"\nbias = "pull-up"'), TREES,
                        config('pressed = "low"', 'pressed = "low"\nbias = "none"'), (LIVE,)),
    "alarm-line": Case(alarm(new="BATTERY"), (LIVE,), alarm(), TREES),
    "alarm-level": Case(alarm(high=False), (LIVE,), alarm()),
    "power-key": Case(
        all_of(file("/sys/class/input/event0/device/capabilities/key", "10000000000000 0\n"),
               file("/sys/class/input/event0/device/name", "lid\n"),
               file("/sys/class/input/event0/dev", "13:64\n"),
               file("/run/udev/tags/power-switch/c13:64", ""),
               login(handle_power_key="poweroff")), (LIVE,)),
    "power-key-listener": Case(
        all_of(file("/sys/class/input/event0/device/capabilities/key", "10000000000000 0\n"),
               file("/sys/class/input/event0/device/name", "lid\n"),
               file("/proc/70/comm", "tide-menu\n"),
               file("/proc/70/fd/3", ("link", "/dev/input/event0"))), (LIVE,),
        all_of(file("/sys/class/input/event0/device/capabilities/key", "10000000000000 0\n"),
               file("/sys/class/input/event0/device/name", "lid\n"),
               file("/proc/70/comm", "systemd-logind\n"),
               file("/proc/70/fd/3", ("link", "/dev/input/event0")))),
    "led-there": Case(config('led = "lid"', 'led = "lit"'), (LIVE,)),
    "led-writable": Case(
        lambda unit: file("/etc/passwd", "nightlatch:x:4294967:4294967::/:/bin/false\n")(unit)
        or file("/etc/group", "nightlatch:x:4294967:\ngpio:x:4294966:\n")(unit), (LIVE,)),
    "led-retain": Case(tree(" retain-state-shutdown;", ""), TREES),
    "cue-line": Case(config('"BUZZER"', '"BUZZEL"'), (LIVE,)),
    "configuration": Case(config('hold = "3 s"', 'hold = "3 moons"'), (LIVE, BLOB, IMAGE)),
    "service-account": Case(file("/etc/passwd", "root:x:0:0::/root:/bin/sh\n"), (LIVE,)),
    "service-chip-access": Case(
        all_of(file("/etc/passwd", "nightlatch:x:4294967:4294967::/:/bin/false\n"),
               file("/etc/group", "nightlatch:x:4294967:\ngpio:x:4294966:\n")), (LIVE,)),
    "service-power-off": Case(
        all_of(login(may_power_off="auth_admin_keep"),
               file("/usr/share/polkit-1/rules.d/50-nightlatch.rules", None)), (LIVE,),
        passes=(LIVE, IMAGE)),
    "inhibitors-now": Case(
        login(inhibitors=[{"what": "shutdown", "who": "tide recorder", "why": "calibrating",
                           "mode": "block"}]), (LIVE,)),
    "delay-limit": Case(login(delay_limit_s=1), (LIVE,)),
    "stop-timeouts": Case(calls(stop_timeout_s=600), (LIVE,)),
    "root-storage": Case(
        file("/proc/self/mountinfo", "21 1 0:2 / / ro,noatime shared:1 - overlay overlay ro\n"),
        (LIVE,)),
    "boot-storage": Case(
        all_of(file("/proc/self/mountinfo",
                    "21 1 179:2 / / rw shared:1 - ext4 /dev/mmcblk0p2 rw\n"
                    "28 21 179:1 / /boot/firmware rw shared:2 - vfat /dev/mmcblk0p1 rw\n"),
               file("/etc/fstab", "LABEL=boot /boot/firmware vfat nofail 0 2\n")), (LIVE, IMAGE)),
    "failed-mount": Case(file("/etc/fstab", "LABEL=tides /var/lib/tides ext4 noatime 0 2\n"),
                         (LIVE, IMAGE)),
    "watchdog-at-off": Case(
        all_of(calls(reboot_watchdog_s=None), file("/sys/class/watchdog/watchdog0/nowayout", "1\n"),
               file("/sys/class/watchdog/watchdog0/timeout", "2\n")), (LIVE,)),
    "hung-system": Case(
        all_of(calls(runtime_watchdog_s=None), file("/proc/sys/kernel/panic", "0\n"),
               file("/sys/class/watchdog/watchdog0/state", "inactive\n")), (LIVE,)),
    "kernel-newest": Case(file("/usr/lib/modules/6.12.99/.keep", ""), (LIVE,),
                          file("/usr/lib/modules/6.12.41/.keep", ""), (LIVE,)),
    "kernel-arguments": Case(file("/proc/cmdline", "root=/dev/mmcblk0p2 single\n"), (LIVE,)),
    "halt-stays-on": Case(login(handle_power_key="halt"), (LIVE,)),
    "forced-power-off": Case(file("/proc/sys/kernel/sysrq", "1\n"), (LIVE,)),
    "boot-differs": Case(boot_text(POST_HALT_TEXT.replace("200", "400")), (LIVE,), SOUND_TEXT),
    "boot-section": Case(all_of(boot_text("[pi3]\n" + POST_HALT_TEXT),
                                more_tree("/ { /delete-node/ supply-release; };")),
                         (LIVE,), SOUND_TEXT),
    "boot-cut": Case(boot_text("#" + " " * 200 + "\n" + POST_HALT_TEXT[:-1] + "," + "x" * 99 + "\n"),
                     (LIVE, IMAGE), SOUND_TEXT),
    "boot-parameter": Case(boot_text("dtoverlay=gpio-poweroff,gpio_pin=6\n"), (LIVE, IMAGE), SOUND_TEXT),
    "boot-malformed": Case(boot_text("dtoverlay = gpio-poweroff\n"), (LIVE, IMAGE), SOUND_TEXT),
    "boot-key-overlay": Case(boot_text(POST_HALT_TEXT + "dtoverlay=gpio-shutdown,gpio_pin=3\n"),
                             (LIVE,), SOUND_TEXT),
    "boot-early-line": Case(boot_text(POST_HALT_TEXT + "gpio=6=op,dh\n"), (LIVE,), SOUND_TEXT),
    "boot-asks": Case(all_of(), (IMAGE,), SOUND_TEXT),
    "boot-line": Case(boot_text(POST_HALT_TEXT.replace("gpiopin=6", "gpiopin=7")), (LIVE,), SOUND_TEXT),
    "boot-overlay-file": Case(SOUND_TEXT, (LIVE, IMAGE), all_of(SOUND_TEXT, OVERLAY)),
    "boot-repeated": Case(boot_text("dtoverlay=gpio-poweroff,gpiopin=7\n" + POST_HALT_TEXT),
                          (LIVE, IMAGE), SOUND_TEXT),
    "boot-lasts": Case(boot_text(WRITTEN), (LIVE, IMAGE),
                       all_of(boot_text(WRITTEN),
                              file("/etc/default/raspi-firmware-custom", POST_HALT_TEXT))),
}
