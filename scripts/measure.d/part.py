# SPDX-License-Identifier: MIT
"""What a part of the campaign says of itself, and what comes of it."""

from math import ceil
from typing import NamedTuple

# What the programs are made of. A part whose result hangs on anything else names it in MEASURES.
PROGRAMS = ("CMakeLists.txt", "CMakePresets.json", "daemon", "lib")
STAGE = ("config", "scripts/measure.d", "systemd/nightlatch.service.in", "tests/support")


class Size(NamedTuple):
    """How much a part does; `sample` 0: none."""
    whole: int
    sample: int
    unit: str
    fixed: bool = False  # PART=N is refused


class Result(NamedTuple):
    counts: str  # for the table
    broken: list[str] = []   # each promise that was not kept, in a sentence
    unclear: list[str] = []  # what this machine was too busy to tell, or what was cut short


def without_worst(values: list[float], share: float) -> float:
    """The largest, when the worst of them are left out: a hundredth (0.99), rounded down."""
    return sorted(values)[ceil(share * len(values)) - 1]
