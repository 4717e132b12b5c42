# SPDX-License-Identifier: MIT
"""Circuits of each topology, tuned to a margin of 0 to 100 ms, of exact values and of library parts at their
worst corner: is there one that nightlatch circuit calls off and ngspice's full models bring back? Goes
on where it was, a hundred circuits at a time."""

import os
import sys
from concurrent.futures import ThreadPoolExecutor
from typing import NamedTuple

import kept
from part import Result, Size
from stage import TOOL, TOP

CIRCUITS = "tests/system/circuit"
sys.path.insert(0, str(TOP / CIRCUITS))

from circuits import TOPOLOGIES  # noqa: E402
from hunt import find_verge, wrong  # noqa: E402
from spice import GaveUp  # noqa: E402
from tool import Tool  # noqa: E402

SIZE = Size(1000, 4, "circuits of each topology")
PROMISE = "not one of those at the verge comes back in level 1 or with weak inversion"
MEASURES = ("CMakeLists.txt", "CMakePresets.json", "daemon/tool/circuit", "lib/base", "lib/circuit", CIRCUITS)
A_TIME = 100
AT_ONCE = os.cpu_count() or 1
MOST_DRAWN = 40  # times as many as are wanted: a draw that cannot be tuned is dropped


class Looked(NamedTuple):
    at_verge: bool  # else it could not be brought there
    named: bool     # of library parts, not of exact values
    wrong: list[str]


def look(topology: str, seed: str) -> Looked:
    verge = find_verge(Tool(TOOL), topology, seed)
    if verge is None:
        return Looked(False, False, [])
    try:
        return Looked(True, verge.named, wrong(verge))
    except GaveUp:  # seldom, a deck's fault
        print(f"  {topology} {seed}: ngspice gave up; another is drawn", flush=True)
        return Looked(False, False, [])


def hunt(topology: str, wanted: int, seed: str) -> dict:
    """So many at the verge; of the draws until then each that is there counts."""
    there: list[Looked] = []
    drawn = 0
    with ThreadPoolExecutor(AT_ONCE) as workers:
        while len(there) < wanted and drawn < MOST_DRAWN * wanted:
            names = [f"{seed}-{drawn + number}" for number in range(4 * AT_ONCE)]
            there += [one for one in workers.map(lambda name: look(topology, name), names) if one.at_verge]
            drawn += len(names)
    return {"verges": len(there), "named": sum(one.named for one in there), "drawn": drawn,
            "wrong": [text for one in there for text in one.wrong]}


def chunk(topology: str, number: int, wanted: int, seed: str) -> dict:
    """What came of it; kept, when whole, so that who goes on later need not hunt again."""
    name = f"{seed}-{number}"
    if wanted < A_TIME:
        return hunt(topology, wanted, name)
    place, key = f"circuit-hunt/{topology}-{name}", kept.key_of(MEASURES)
    return kept.read(place, key) or kept.write(place, key, hunt(topology, wanted, name))


def run(amount: int) -> Result:
    seed = os.environ.get("SEED", "1")
    said, broken = [], []
    for topology in TOPOLOGIES:
        sizes = [min(A_TIME, amount - begin) for begin in range(0, amount, A_TIME)]
        rows = [chunk(topology, number, size, seed) for number, size in enumerate(sizes)]
        verges, named, drawn = (sum(row[key] for row in rows) for key in ("verges", "named", "drawn"))
        found = [text for row in rows for text in row["wrong"]]
        said.append(f"{topology} {verges} of {drawn} drawn, {named} of library parts: {len(found)} wrong")
        print(f"  {said[-1]}", flush=True)
        broken += found
        if verges < amount:
            broken.append(f"{topology}: only {verges} of {amount} could be brought to the verge")
    return Result(f"seed {seed}: " + "; ".join(said), broken)
