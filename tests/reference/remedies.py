# SPDX-License-Identifier: MIT
"""The audit's remedy on boards that have no post-halt node: it must compile (dtc -@), apply
(fdtoverlay), and then pass, as the audit itself and the decompiled tree say."""

import json
import re
import subprocess
import tempfile
from collections import Counter
from pathlib import Path
from typing import NamedTuple

import dts
from lines import Line, Reading, names_gpios
from pads import Pads

CONFIG = """[button]
chip = "{chip}"
line = "{button}"
pressed = "low"
[[stage]]
name = "off"
hold = "3 s"
action = "power-off"
[post_halt]
chip = "{chip}"
line = "{line}"
active = "high"
pulse = "250 ms"
"""
KERNEL = "6.12.0"
# What the remedy answers for. Which other way off comes first is not its business.
RULES = ("node", "enabled", "single", "line", "polarity", "drive", "pulse", "final", "input",
         "priority", "claimed")
BUSES = ("i2c", "i3c", "spi", "rsb", "slim", "mdio")


class Tried(NamedTuple):
    tree: str
    family: str  # "": nothing was tried, for `why`
    pinctrl: bool = False  # the overlay sets the line's pad
    words: bool = False  # it does not, where that is needed, and the remedy says so
    why: str = ""
    declined: bool = False
    verdict: str = ""
    wrong: str = ""


def family_of(nodes: list[dts.Node]) -> str:
    """Maker and series of the processor, by the root's last compatible: "rockchip,rk3"."""
    last = (nodes[0].strings("compatible") or ["?"])[-1]
    match = re.match(r"[^,]+,[a-z_-]*\d?", last)
    return match[0] if match else last


def free_lines(reading: Reading, pads: Pads) -> tuple[str, list[int]]:
    """A controller of the processor's own with two lines that nobody names, and whose pads nobody
    sets."""
    taken = {(entry.controller, entry.offset) for node in reading.nodes
             for name in node.properties if names_gpios(name)
             for entry in reading.entries(node, name) if isinstance(entry, Line)}
    taken |= {(fact[3], int(fact[4])) for fact in reading.facts() if fact[0] == "hog"}
    for node in reading.nodes:
        if "gpio-controller" not in node.properties or not reading.enabled[node.path]:
            continue
        if any(part.startswith(BUSES) for part in node.path.split("/")) or node.cell("phandle") is None:
            continue
        ranges = pads.pin_of(Line(node.path, 0, 0))[0] is not None
        free = [offset for offset in range(node.cell("ngpios") or 16)
                if (node.path, offset) not in taken
                and not pads.pad(Line(node.path, offset, 0)).settings
                and (not ranges or pads.pin_of(Line(node.path, offset, 0))[1] is not None)]
        if len(free) >= 2:
            return node.path, free
    return "", []


def audit(tool: str, folder: Path, tree: Path) -> dict:
    done = subprocess.run([tool, "audit", "--json", "--tree", tree, "--config", folder / "c.toml",
                           "--kernel", KERNEL, "--kernel-config", folder / "config"],
                          capture_output=True, text=True)
    if done.returncode not in (0, 1):
        raise dts.NotUnderstood(f"audit: {done.returncode} {done.stderr.strip()[-300:]}")
    return json.loads(done.stdout)


def remedy_in(report: dict) -> str:
    rule = next(rule for rule in report["rules"] if rule["id"] == "post-halt-node")
    return rule["findings"][0]["remedy"] if rule["findings"] else ""


def run(words: list) -> str:
    done = subprocess.run([str(word) for word in words], capture_output=True, text=True)
    return "" if done.returncode == 0 else f"{words[0]}: {done.stderr.strip()[-300:]}"


def applied(folder: Path, source: str, blob: Path) -> str:
    (folder / "o.dts").write_text(source)
    return run(["dtc", "-q", "-@", "-I", "dts", "-O", "dtb", "-o", folder / "o.dtbo",
                folder / "o.dts"]) or \
        run(["fdtoverlay", "-i", blob, "-o", folder / "new.dtb", folder / "o.dtbo"])


def what_is_wrong(report: dict, blob: Path, wanted: Line, pinctrl: bool, words: bool) -> str:
    outcomes = {rule["id"]: rule["outcome"] for rule in report["rules"]}
    for rule in RULES:
        if outcomes[f"post-halt-{rule}"] != "pass":
            return f"post-halt-{rule}: {outcomes[f'post-halt-{rule}']}"
    nodes = dts.decompile(blob)
    reading = Reading(nodes)
    pads = Pads(reading)
    ours = [node for node in nodes if "gpio-poweroff" in node.strings("compatible")]
    if len(ours) != 1 or reading.unnamed(ours[0]) != wanted:
        return f"the tree has {[reading.unnamed(node) for node in ours]}, wanted {wanted}"
    setting = [one.user for one in pads.pad(wanted).settings]
    if setting != ([ours[0].path] if pinctrl else []):
        return f"the pad is set by {setting}"
    function = outcomes["post-halt-function"]
    if function not in (["pass"] if pinctrl else ["finding"] if words else ["pass", "cannot-tell"]):
        return f"post-halt-function: {function}"
    return ""


def attempt(tool: str, name: str, blob: Path, folder: Path) -> Tried:
    nodes = dts.decompile(blob)
    family = family_of(nodes)
    reading = Reading(nodes)
    chip, free = free_lines(reading, Pads(reading))
    if not chip:
        return Tried(name, "", why="no two free lines of a controller of the processor's own")
    (folder / "config").write_text("CONFIG_POWER_RESET_GPIO=y\n")
    (folder / "c.toml").write_text(CONFIG.format(chip=chip, line=free[1], button=free[0]))
    text = remedy_in(audit(tool, folder, blob))
    match = re.search(r"/dts-v1/;.*?\n};\n", text, re.DOTALL)
    if not match:
        return Tried(name, family, declined=True, why=text.partition("\n")[0][:120])
    pinctrl, words = "pinctrl-0" in match[0], "does not set the line's pad" in text
    wrong = applied(folder, match[0], blob)
    if wrong:
        return Tried(name, family, pinctrl, words, wrong=wrong)
    report = audit(tool, folder, folder / "new.dtb")
    wrong = what_is_wrong(report, folder / "new.dtb", Line(chip, free[1], 0), pinctrl, words)
    return Tried(name, family, pinctrl, words, verdict=report["verdict"], wrong=wrong)


def try_board(task: tuple[str, str, Path]) -> Tried:
    tool, name, blob = task
    try:
        with tempfile.TemporaryDirectory() as folder:
            return attempt(tool, name, blob, Path(folder))
    except dts.NotUnderstood as reason:
        return Tried(name, "?", wrong=str(reason))


def report(tried: list[Tried], least: tuple[int, int, int]) -> int:
    """`least`: boards, families, families with pinctrl."""
    works = [one for one in tried if one.family and not one.declined and not one.wrong]
    families = Counter(one.family for one in works)
    pinctrl = Counter(one.family for one in works if one.pinctrl)
    print(f"\nremedies: {len(works)} boards of {len(families)} families compile, apply and pass; "
          f"with pinctrl {sum(pinctrl.values())} boards of {len(pinctrl)} families; on "
          f"{sum(one.words for one in works)} the pad is left to the reader, in words")
    print("  " + ", ".join(f"{name} {count}" + (f" ({pinctrl[name]} with pinctrl)"
                                               if name in pinctrl else "")
                           for name, count in sorted(families.items())))
    print("verdicts then: " + ", ".join(f"{count} {verdict}" for verdict, count in
                                        Counter(one.verdict for one in works).most_common()))
    for why, count in Counter(one.why for one in tried if one.why).most_common(8):
        print(f"  {count:>5}  not tried or declined: {why}")
    wrong = [one for one in tried if one.wrong]
    print(f"remedies that do not work: {len(wrong)}")
    print("\n".join(f"  {one.tree}: {one.wrong}" for one in wrong[:50]))
    too_few = any(have < want for have, want in
                  zip((len(works), len(families), len(pinctrl)), least))
    if too_few:
        print(f"fewer than the {least[0]} boards, {least[1]} families and {least[2]} families with "
              "pinctrl that this run must show")
    return 1 if wrong or too_few else 0
