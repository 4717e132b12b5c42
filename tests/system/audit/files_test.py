# SPDX-License-Identifier: MIT
"""Files alone, with the kernel that will boot: verdicts, what they rest on, and exit statuses.

usage: files_test.py NIGHTLATCH
"""

import gzip
import json
import pathlib
import subprocess
import sys
import tempfile

sys.dont_write_bytecode = True

from unit import Unit  # noqa: E402

TOOL = sys.argv[1]
PSCI = '/ { psci { compatible = "arm,psci-1.0"; method = "smc"; }; };\n'
BUILT_IN, LEFT_OUT = "CONFIG_POWER_RESET_GPIO=y\n", "CONFIG_ARM64=y\n"


def audit(*words):
    done = subprocess.run([str(word) for word in (TOOL, "audit", *words)], capture_output=True,
                          text=True, timeout=60)
    report = json.loads(done.stdout) if "--json" in words and done.stdout else {}
    return done, report


def expect(what, is_so, done):
    if not is_so:
        raise SystemExit(f"not so: {what}\nstatus {done.returncode}\n{done.stdout}{done.stderr}")


def on_blob(folder, unit, *words, config=BUILT_IN):
    (folder / "config").write_text(config)
    blob = unit.lay_blob(folder)
    return audit("--tree", blob, "--config", folder / "unit.toml", "--json",
                 "--kernel-config", folder / "config", *words)


def blob_with_kernel(folder):
    done, report = on_blob(folder, Unit(), "--kernel", "6.12.41")
    expect("files reach configured, and say that they were files",
           (report["verdict"], report["basis"]) == ("configured", "files"), done)
    unit = Unit()
    unit.tree += PSCI
    # [linux 6.1 drivers/power/reset/gpio-poweroff.c, drivers/firmware/psci/psci.c: -EBUSY]
    done, report = on_blob(folder, unit, "--kernel", "6.1.0-50-arm64")
    expect("before 6.7 PSCI keeps the driver out", report["verdict"] == "contradicted"
           and "(PSCI)" in report["reason"] and done.returncode == 1, done)
    done, report = on_blob(folder, unit, "--kernel", "6.12.41")
    expect("from 6.7 on it does not", report["verdict"] == "configured", done)
    done, report = on_blob(folder, Unit(), "--kernel", "6.12.41", config=LEFT_OUT)
    expect("a kernel without the driver raises nothing", report["verdict"] == "contradicted", done)
    done, report = on_blob(folder, Unit())
    expect("which kernel boots has to be said", report["verdict"] == "cannot-tell", done)
    packed = folder / "config.gz"
    packed.write_bytes(gzip.compress(BUILT_IN.encode()))
    done, report = audit("--tree", Unit().lay_blob(folder), "--config", folder / "unit.toml", "--json",
                         "--kernel", "6.12.41", "--kernel-config", packed)
    expect("a kernel's configuration may be packed", report["verdict"] == "configured", done)


def only(folder):
    unit = Unit()
    unit.tree = unit.tree.replace("gpios = <&gpio 6 0>", "gpios = <&gpio 6 1>")
    for rule, status in (("post-halt-line", 0), ("post-halt-polarity", 1), ("post-halt-function", 1)):
        done, _ = on_blob(folder, unit, "--only", rule)
        expect(f"the status is that of {rule} alone", done.returncode == status, done)


def image_with_tree(folder):
    unit = Unit()
    root = unit.lay_image(folder)
    blob = unit.lay_blob(folder)
    done, report = audit("--root", root, "--tree", blob, "--json")
    expect("an image with its tree is configured", (report["verdict"], report["basis"],
           report["source"]) == ("configured", "files", "image"), done)
    expect("which is a gate for a build", done.returncode == 0, done)
    done, _ = audit("--root", root, "--tree", blob)
    expect("it is told as what it is",
           done.stdout.startswith("verdict: configured, as far as files show\n"), done)
    done, report = audit("--root", root, "--tree", blob, "--kernel", "6.1.9", "--json")
    expect("a kernel that the image has no configuration of cannot be told",
           report["verdict"] == "cannot-tell", done)


def refused(folder):
    blob = Unit().lay_blob(folder)
    for words, says in ((("--kernel", "6.12"), "--root or --tree"),
                        (("--tree", blob, "--kernel", "new"), "does not begin with a version"),
                        (("--tree", blob, "--kernel-config", folder / "none"), "not there"),
                        (("--tree", blob, "--kernel-config", blob), "not a kernel configuration")):
        done, _ = audit("--config", folder / "unit.toml", *words)
        expect(f"{words} is refused with a sentence", done.returncode == 2 and not done.stdout
               and says in done.stderr, done)


for case in (blob_with_kernel, only, image_with_tree, refused):
    with tempfile.TemporaryDirectory() as place:
        case(pathlib.Path(place))
print("audit of files with the kernel that will boot: what it promises holds")
