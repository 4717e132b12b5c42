# SPDX-License-Identifier: MIT
"""A unit with which nothing is wrong, as files: a tide gauge's logger on a harbour pontoon.

A case changes the one thing that it is about. The device tree is source that dtc compiles; the live
front end's folder is written from dtc's own decompiled text, not by the reader under test.
"""

import copy
import json
import os
import pathlib
import re
import subprocess

CONFIG = """[button]
chip = "soc-gpio"
line = "LID_BUTTON"
pressed = "low"

[[stage]]
name = "off"
hold = "3 s"
action = "power-off"

[post_halt]
chip = "soc-gpio"
line = "SUPPLY_RELEASE"
active = "high"
pulse = "150 ms"

[[feedback]]
led = "lid"
ready = "on"
leaving = "on"

[[feedback]]
chip = "soc-gpio"
line = "BUZZER"
refused = "pulse 50 ms 50 ms"
"""

TREE = """/dts-v1/;
/ {
    model = "Pontoon tide gauge";
    compatible = "pontoon,tide-gauge";
    #address-cells = <1>;
    #size-cells = <1>;
    soc {
        compatible = "simple-bus";
        #address-cells = <1>;
        #size-cells = <1>;
        ranges;
        gpio: gpio@9030000 {
            compatible = "pontoon,gpio";
            reg = <0x9030000 0x1000>;
            gpio-controller;
            #gpio-cells = <2>;
            gpio-line-names = "", "GAUGE_DATA", "GAUGE_CLOCK", "LID_BUTTON", "LID_LAMP", "BUZZER",
                "SUPPLY_RELEASE", "SPARE";
        };
        i2c@9040000 {
            compatible = "pontoon,i2c";
            reg = <0x9040000 0x1000>;
            #address-cells = <1>;
            #size-cells = <0>;
            expander: expander@20 {
                compatible = "pontoon,expander";
                reg = <0x20>;
                gpio-controller;
                #gpio-cells = <2>;
                gpio-line-names = "FLOAT_HIGH", "FLOAT_LOW", "HATCH", "MAST_LAMP";
            };
        };
    };
    supply-release {
        compatible = "gpio-poweroff";
        gpios = <&gpio 6 0>;
        active-delay-ms = <200>;
    };
    leds {
        compatible = "gpio-leds";
        lid { gpios = <&gpio 4 0>; retain-state-shutdown; };
    };
};
"""

NAMES = ["", "GAUGE_DATA", "GAUGE_CLOCK", "LID_BUTTON", "LID_LAMP", "BUZZER", "SUPPLY_RELEASE",
         "SPARE"]

CALLS = {
    "kernel": "6.12.41",
    "chips": [
        {"name": "gpiochip0", "label": "soc-gpio", "node": "/soc/gpio@9030000",
         "lines": [{"name": name} for name in NAMES]},
        {"name": "gpiochip1", "label": "float-expander", "sleeps": True,
         "node": "/soc/i2c@9040000/expander@20",
         "lines": [{"name": name} for name in ("FLOAT_HIGH", "FLOAT_LOW", "HATCH", "MAST_LAMP")]},
    ],
    "login": {"handle_power_key": "ignore", "block_inhibited": "", "delay_limit_s": 5,
              "inhibitors": [], "may_power_off": "yes"},
    "stop_timeout_s": 10, "runtime_watchdog_s": 30, "reboot_watchdog_s": 600,
    "button_high": True, "alarms_high": [], "log": [],
}
CALLS["chips"][0]["lines"][6] |= {"consumer": "supply-release", "output": True}
CALLS["chips"][0]["lines"][4] |= {"consumer": "lid", "output": True}

# The form of pinctrl's files: linux drivers/pinctrl/pinmux.c and core.c.
PINMUX = """Pinmux settings per pin
Format: pin (name): mux_owner gpio_owner hog?
""" + "".join(f"pin {n} (pin{n}): (MUX UNCLAIMED) {owner}\n" for n, owner in enumerate(
    ["(GPIO UNCLAIMED)"] * 3 + ["soc-gpio:515", "soc-gpio:516", "(GPIO UNCLAIMED)", "soc-gpio:518",
                                "(GPIO UNCLAIMED)"]))

FILES = {
    "/etc/passwd": "root:x:0:0::/root:/bin/sh\nnightlatch:x:{uid}:{gid}::/:/usr/sbin/nologin\n",
    "/etc/group": "root:x:0:\ngpio:x:{gid}:\nnightlatch:x:{gid}:\n",
    "/dev/gpiochip0": "", "/dev/gpiochip1": "",
    "/proc/cmdline": "root=/dev/mmcblk0p2 rootwait\n",
    "/proc/sys/kernel/panic": "10\n", "/proc/sys/kernel/sysrq": "0\n",
    "/proc/sys/kernel/panic_on_oops": "1\n",
    "/etc/fstab": "LABEL=root / ext4 noatime 0 1\n"
                  "LABEL=boot /boot/firmware vfat ro,nofail 0 2\n",
    "/proc/self/mountinfo": "21 1 179:2 / / rw,noatime shared:1 - ext4 /dev/mmcblk0p2 rw\n"
                            "28 21 179:1 / /boot/firmware ro shared:2 - vfat /dev/mmcblk0p1 ro\n",
    "/boot/config-{release}": "CONFIG_POWER_RESET_GPIO=y\n",
    "/sys/class/watchdog/watchdog0/identity": "pontoon watchdog\n",
    "/sys/class/watchdog/watchdog0/timeout": "60\n",
    "/sys/class/watchdog/watchdog0/state": "active\n",
    "/sys/class/watchdog/watchdog0/nowayout": "0\n",
    "/sys/class/leds/lid/brightness": "0\n",
    "/sys/class/leds/lid/trigger": "[none] timer pattern\n",
    "/sys/class/leds/lid/of_node": ("link", "../../../firmware/devicetree/base/leds/lid"),
    "/sys/class/input/.keep": "",
    "/sys/devices/platform/supply-release/of_node":
        ("link", "../../../firmware/devicetree/base/supply-release"),
    "/sys/bus/platform/drivers/poweroff-gpio/supply-release":
        ("link", "../../../../devices/platform/supply-release"),
    "/sys/kernel/debug/devices_deferred": "",
    "/sys/class/gpio/gpiochip512/label": "soc-gpio\n",
    "/sys/class/gpio/gpiochip512/base": "512\n",
    "/sys/class/gpio/gpiochip512/ngpio": "8\n",
    "/sys/kernel/debug/pinctrl/9030000.pins/pinmux-pins": PINMUX,
    "/sys/kernel/debug/pinctrl/9030000.pins/gpio-ranges":
        "GPIO ranges handled:\n0: soc-gpio GPIOS [512 - 519] PINS [0 - 7]\n",
    "/usr/share/polkit-1/rules.d/50-nightlatch.rules": '// the rule of the package, for "nightlatch"\n',
}
MODULES = "/usr/lib/modules/6.12.41/.keep"


def compile_tree(source, out):
    """None of dtc's warnings is our subject: a case may be wrong on purpose."""
    subprocess.run(["dtc", "-q", "-I", "dts", "-O", "dtb", "-o", str(out)], input=source, text=True,
                   check=True)


def _values(text):
    """The bytes of a property in dtc's decompiled source."""
    raw = b""
    for part in re.findall(r'"((?:[^"\\]|\\.)*)"|<([^>]*)>|\[([^\]]*)\]', text):
        string, cells, octets = part
        if cells:
            raw += b"".join(int(cell, 0).to_bytes(4, "big") for cell in cells.split())
        elif octets:
            raw += bytes.fromhex(octets)
        else:
            raw += string.encode().decode("unicode_escape").encode("latin-1") + b"\0"
    return raw


def write_live_tree(blob, base):
    """The kernel's folder for a blob: a folder a node, a file a property [sysfs-firmware-ofw]."""
    text = subprocess.run(["dtc", "-q", "-I", "dtb", "-O", "dts", str(blob)], check=True, text=True,
                          capture_output=True).stdout
    here = None
    for line in text.splitlines():
        line = line.strip()
        if match := re.fullmatch(r"(\S+) \{", line):
            here = base if here is None else here / match[1]
            here.mkdir(parents=True, exist_ok=True)
        elif line == "};":
            here = None if here == base else here.parent
        elif here is not None and (match := re.fullmatch(r"([^=;\s]+)(?: = (.*))?;", line)):
            (here / match[1]).write_bytes(_values(match[2] or ""))


class Unit:
    """Everything about one unit; changed by a case, then laid down for a front end."""

    def __init__(self):
        self.config, self.tree = CONFIG, TREE
        self.files, self.calls = dict(FILES), copy.deepcopy(CALLS)

    def lay_files(self, root, only=None):
        fill = {"uid": os.getuid() or 990, "gid": os.getgid(), "release": os.uname().release}
        for path, text in {**self.files, "/etc/nightlatch/nightlatch.toml": self.config}.items():
            if text is None or (only and not path.startswith(only)):
                continue
            target = pathlib.Path(str(root) + path.replace("{release}", fill["release"]))
            target.parent.mkdir(parents=True, exist_ok=True)
            if isinstance(text, tuple):
                target.symlink_to(text[1])
                continue
            if path in ("/etc/passwd", "/etc/group"):
                text = text.format(**fill)
            target.write_text(text)
            target.chmod(0o664)

    def lay_live(self, folder):
        root = folder / "root"
        self.lay_files(root)
        compile_tree(self.tree, folder / "unit.dtb")
        write_live_tree(folder / "unit.dtb", root / "sys/firmware/devicetree/base")
        (folder / "calls.json").write_text(json.dumps(self.calls))
        return root

    def lay_image(self, folder):
        root = folder / "image"
        self.lay_files(root, ("/etc", "/boot", "/usr"))
        (root / MODULES[1:]).parent.mkdir(parents=True, exist_ok=True)
        config = root / f"boot/config-{os.uname().release}"
        if config.exists():
            config.rename(root / "boot/config-6.12.41")
        return root

    def lay_blob(self, folder):
        compile_tree(self.tree, folder / "unit.dtb")
        (folder / "unit.toml").write_text(self.config)
        return folder / "unit.dtb"
