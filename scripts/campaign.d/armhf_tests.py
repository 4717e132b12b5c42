# SPDX-License-Identifier: MIT
"""The unit tests, cross-built for armhf (32 bits) in a Debian 12 root and run there under Debian's
qemu-user, a program at a time. Needs root, and a mirror the first time."""

import subprocess
import xml.etree.ElementTree as ElementTree
from pathlib import Path
from typing import NamedTuple

import kept
from part import PROGRAMS, Result, Size
from stage import TOP

SIZE = Size(1, 0, "run", fixed=True)
INSTEAD = "it cross-builds for minutes; each build of the package for armhf checks the widths of types"
PROMISE = "each passes on armhf, but those listed, which cannot run there"
MEASURES = (*PROGRAMS, "scripts/toolchain.cmake", "scripts/build-root.sh", "tests/CMakeLists.txt",
            "tests/unit", "tests/support", "scripts/campaign.d/armhf_tests.sh")

# What is tried there all the same, and not counted: its program, its name, and why it fails. One that
# passes is no longer to be listed.
NO_DTC = "it starts dtc and fdtoverlay, which that root has not"
CANNOT = {("devicetree_overlay_test", name): NO_DTC for name in (
    "overlays are applied as fdtoverlay applies them, in their order",
    "a base without labels, and a label or path that it has not, are told apart",
    "an overlay much larger than its base finds room")}


class Ran(NamedTuple):
    passed: set[tuple[str, str]]
    not_passed: dict[tuple[str, str], str]  # with what it said


def cases(program: str, report: Path, status: str) -> Ran:
    """Of one program. One that ended before its end has told nothing that counts."""
    ran = Ran(set(), {})
    try:
        found = list(ElementTree.parse(report).iter("TestCase"))
    except (ElementTree.ParseError, OSError):
        found = []
    if not found:
        ran.not_passed[program, "all of it"] = f"no report, exit status {status}"
    for case in found:
        key = program, case.get("name", "")
        end = case.find("OverallResult")
        if end is not None and end.get("success") == "true" and end.get("skips", "0") == "0":
            ran.passed.add(key)
        else:
            expected = [" ".join((one.text or "").split()) for one in case.iter("Expanded")]
            ran.not_passed[key] = (expected or ["skipped, or ended"])[0][:120]
    if status != "0" and not ran.not_passed:
        ran.not_passed[program, "its end"] = f"exit status {status}"
    return ran


def run(_amount: int) -> Result:
    room = kept.ROOM / "armhf-tests"
    subprocess.run([TOP / "scripts/campaign.d/armhf_tests.sh", room], check=True)
    programs = [Path(line).name for line in (room / "programs").read_text().splitlines()]
    if not programs:
        raise RuntimeError("no program was built")
    passed: set[tuple[str, str]] = set()
    not_passed: dict[tuple[str, str], str] = {}
    for program in programs:
        one = cases(program, room / f"{program}.xml", (room / f"{program}.status").read_text().strip())
        passed |= one.passed
        not_passed |= one.not_passed
    for key, reason in CANNOT.items():
        print(f"  cannot run there: {key[0]}: {key[1]}: {reason}")
    broken = [f"{program}: {name}: {said}" for (program, name), said in not_passed.items()
              if (program, name) not in CANNOT]
    broken += [f"{program}: {name} passes: it is no longer one that cannot run there"
               for program, name in CANNOT if (program, name) not in not_passed]
    return Result(f"{len(passed)} tests of {len(programs)} programs passed, {len(CANNOT)} cannot run there "
                  "(listed above, not counted)", broken)
