#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The transient beside ngspice, on random circuits: the same piecewise models must agree within
max(2 %, 2 ms) and in the verdict outside that band; the full diode and MOSFET models within a wider
one. Ends with 0 only when all do."""

import argparse
import math
import subprocess
import sys
import tempfile
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import NamedTuple

AT_ONCE = 2
STAYS_OFF, COMES_BACK, NEVER_RELEASES, NEVER_ON = (
    "stays off", "comes back", "never lets go", "does not stay on")


class Band(NamedTuple):
    """How far apart two times may be: a part of the time, or so many seconds."""
    part: float
    seconds: float

    def width(self, time: float) -> float:
        return max(self.part * time, self.seconds)


# An exponential diode gives the capacitor a little more or less than the straight pieces through the
# same published points, and a square-law transistor switches over a range instead of at a voltage.
BANDS = {"piecewise": Band(0.02, 0.002), "full": Band(0.25, 0.050)}


class Ours(NamedTuple):
    number: int
    outcome: str
    opened: float
    hold_off: float
    rail_fall: float
    release_threshold: float
    latch_level: float
    main_threshold: float


class Theirs(NamedTuple):
    outcome: str
    opened: float
    hold_off: float
    rail_fall: float


class Wave(NamedTuple):
    time: list[float]
    rail: list[float]
    hold: list[float]
    drive: list[float]


def read_wave(path: Path) -> Wave:
    rows = [[float(word) for word in line.split()] for line in path.read_text().splitlines()]
    return Wave(*(list(column) for column in zip(*rows)))


def falls_through(times: list[float], values: list[float], level: float, after: float) -> list[float]:
    found = []
    for i in range(1, len(times)):
        if values[i - 1] > level >= values[i] and times[i] > after:
            part = (values[i - 1] - level) / (values[i - 1] - values[i])
            found.append(times[i - 1] + part * (times[i] - times[i - 1]))
    return found


def judge(wave: Wave, ours: Ours) -> Theirs:
    openings = falls_through(wave.time, wave.drive, ours.main_threshold, 0.0)
    if not openings:
        return Theirs(NEVER_RELEASES, math.inf, 0.0, math.inf)
    opened = openings[-1]
    lets_go = falls_through(wave.time, wave.hold, ours.release_threshold, opened)
    low = falls_through(wave.time, wave.rail, ours.latch_level, opened)
    again = wave.drive[-1] > ours.main_threshold
    return Theirs(COMES_BACK if again else STAYS_OFF, opened,
                  lets_go[0] - opened if lets_go else math.inf,
                  low[0] - opened if low else math.inf)


def run(folder: Path, ours: Ours, models: str) -> Theirs | str:
    done = subprocess.run(["ngspice", "-b", f"{ours.number}.{models}.cir"], cwd=folder,
                          capture_output=True, text=True, timeout=60)
    output = folder / f"{ours.number}.{models}"
    if not output.exists():
        return f"ngspice gave no result: {(done.stdout + done.stderr)[-300:]}"
    return judge(read_wave(output), ours)


def differences(ours: Ours, theirs: Theirs | str, band: Band) -> list[str]:
    if isinstance(theirs, str):
        return [theirs]
    margin = ours.hold_off - ours.rail_fall
    close = abs(margin) <= band.width(max(ours.hold_off, ours.rail_fall)) \
        if math.isfinite(margin) else False
    if ours.outcome != theirs.outcome:
        return [] if close else [f"we say {ours.outcome}, ngspice {theirs.outcome}"]
    if ours.outcome not in (STAYS_OFF, COMES_BACK):
        return []
    found = []
    # Once the supply is back, the rail's fall cannot be seen any more.
    names = ["hold_off", "rail_fall"] if ours.outcome == STAYS_OFF else ["hold_off"]
    for name in names:
        mine, other = getattr(ours, name), getattr(theirs, name)
        if mine == other:
            continue
        if not abs(mine - other) <= band.width(mine):
            found.append(f"{name}: {mine:.6f} s, ngspice {other:.6f} s")
    return found


def read_ours(text: str) -> list[Ours]:
    lines = (line.split("\t") for line in text.splitlines())
    return [Ours(int(words[0]), words[1], *(float(word) for word in words[2:])) for words in lines]


def compare(folder: Path, circuits: list[Ours], models: str) -> tuple[Counter, list[str]]:
    counts, failures = Counter(), []
    worst = 0.0
    with ThreadPoolExecutor(AT_ONCE) as workers:
        results = workers.map(lambda ours: run(folder, ours, models), circuits)
        for ours, theirs in zip(circuits, results):
            counts[ours.outcome] += 1
            if isinstance(theirs, Theirs) and theirs.outcome == ours.outcome and \
                    math.isfinite(ours.hold_off) and ours.hold_off > 0.05:
                worst = max(worst, abs(theirs.hold_off / ours.hold_off - 1.0))
            failures += [f"{models} circuit {ours.number}: {text}"
                         for text in differences(ours, theirs, BANDS[models])]
    print(f"{models}: {dict(counts)}, hold-offs above 50 ms apart by at most {worst:.2%}")
    return counts, failures


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--netlists", required=True, help="the program that writes them")
    parser.add_argument("--count", type=int, default=200, help="circuits (%(default)s)")
    parser.add_argument("--seed", type=int, default=1, help="of the first (%(default)s)")
    parser.add_argument("--keep", type=Path, help="a folder for netlists and results")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as made:
        folder = asked.keep or Path(made)
        done = subprocess.run([asked.netlists, str(folder), str(asked.count), str(asked.seed)],
                              check=True, capture_output=True, text=True)
        circuits = read_ours(done.stdout)
        failures = []
        for models in BANDS:
            counts, found = compare(folder, circuits, models)
            failures += found
            if min(counts[STAYS_OFF], counts[COMES_BACK]) < asked.count // 10:
                failures.append("too few circuits of one verdict to compare anything")
    print("\n".join(failures[:60]))
    print(f"seed {asked.seed}, {len(circuits)} circuits, {len(failures)} differences")
    return 1 if failures or len(circuits) < asked.count else 0


if __name__ == "__main__":
    sys.exit(main())
