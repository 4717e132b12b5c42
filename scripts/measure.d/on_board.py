# SPDX-License-Identifier: MIT
"""What scripts/board says of a run, for the campaign."""

import re
import subprocess
from typing import NamedTuple

from stage import TOP

MADE_OF = ("scripts/apt-source", "scripts/board-kernel", "scripts/board-rootfs", "scripts/toolchain.cmake",
           "tests/board")


class Ran(NamedTuple):
    counts: str
    broken: list[str]
    unclear: list[str]


def scenarios(*words: str) -> Ran:
    ran = subprocess.run([TOP / "scripts/board", *words], stdout=subprocess.PIPE, text=True)
    print(ran.stdout, end="", flush=True)
    ended = re.search(r"^\d+% scenarios passed.*$", ran.stdout, re.M)
    if not ended:
        raise RuntimeError(f"scripts/board {' '.join(words)} ended with {ran.returncode}")
    what = " ".join(words)
    ends = {end: f"{what}: {end}: {names}" for end, names in
            re.findall(r"^(failed|inconclusive|unstable): (.+)$", ran.stdout, re.M)}
    broken = [ends.pop("failed")] if "failed" in ends else []
    return Ran(f"{what}: {ended[0]}", broken, list(ends.values()))
