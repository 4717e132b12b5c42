#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The transient beside ngspice, on random circuits: the same piecewise models must agree within
max(2 %, 2 ms) and in the verdict outside that band; the full diode and MOSFET models within what
thresholds that are 0.25 V off would do, and 10 % or 20 ms about it. Ends with 0 only when all do.
"""

import argparse
import math
import shutil
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


class Allowed(NamedTuple):
    part: float      # of a time, or
    seconds: float   # so many
    hardly: float    # V: a capacitor that gets only so far past the threshold decides nothing
    left_out: float  # so many of the circuits may be left out for this

    def band(self, time: float) -> float:
        return max(self.part * time, self.seconds)


# A diode without a knee and transistors without an edge are tens of millivolts off.
ALLOWED = {"piecewise": Allowed(0.02, 0.002, 0.005, 0.04), "full": Allowed(0.10, 0.020, 0.05, 0.12)}
DELICATE = "left out, the capacitor hardly reaching the threshold"


class Ours(NamedTuple):
    outcome: str
    opened: float
    hold_off: float
    rail_fall: float
    hold_voltage: float
    release_threshold: float
    latch_level: float
    main_threshold: float

    def is_close(self, allowed: Allowed) -> bool:
        """So close that the verdict may be either."""
        margin = self.hold_off - self.rail_fall
        return math.isfinite(margin) and \
            abs(margin) <= allowed.band(max(self.hold_off, self.rail_fall))

    def is_delicate(self, allowed: Allowed) -> bool:
        return abs(self.hold_voltage - self.release_threshold) < allowed.hardly


class Circuit(NamedTuple):
    number: int
    ours: dict[str, list[Ours]]  # by models


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
    # Next to its threshold the transistor may let go just before the switch has opened.
    all_falls = falls_through(wave.time, wave.hold, ours.release_threshold, 0.0)
    lets_go = [fall for fall in all_falls if fall > opened] or all_falls[-1:]
    low = falls_through(wave.time, wave.rail, ours.latch_level, opened)
    again = wave.drive[-1] > ours.main_threshold
    return Theirs(COMES_BACK if again else STAYS_OFF, opened,
                  lets_go[0] - opened if lets_go else math.inf,
                  low[0] - opened if low else math.inf)


def run(folder: Path, circuit: Circuit, models: str) -> Theirs | str:
    done = subprocess.run(["ngspice", "-b", f"{circuit.number}.{models}.cir"], cwd=folder,
                          capture_output=True, text=True, timeout=60)
    output = folder / f"{circuit.number}.{models}"
    if not output.exists():
        return f"ngspice gave no result: {(done.stdout + done.stderr)[-300:]}"
    if "aborted" in done.stdout + done.stderr:
        return f"ngspice gave up: {(done.stdout + done.stderr)[-300:]}"
    return judge(read_wave(output), circuit.ours[models][0])


def differences(several: list[Ours], theirs: Theirs | str, allowed: Allowed) -> list[str]:
    """`several`: what we compute, for one pair of thresholds or for all within the band."""
    if isinstance(theirs, str):
        return [theirs]
    outcomes = {ours.outcome for ours in several}
    if theirs.outcome not in outcomes:
        close = any(ours.is_close(allowed) for ours in several)
        return [] if close else [f"we say {' or '.join(outcomes)}, ngspice {theirs.outcome}"]
    if theirs.outcome not in (STAYS_OFF, COMES_BACK):
        return []
    found = []
    # Once the supply is back, the rail's fall cannot be seen any more.
    names = ["hold_off", "rail_fall"] if theirs.outcome == STAYS_OFF else ["hold_off"]
    for name in names:
        mine = [getattr(ours, name) for ours in several if ours.opened < math.inf]
        other = getattr(theirs, name)
        low, high = min(mine), max(mine)
        if not low - allowed.band(low) <= other <= high + allowed.band(high):
            found.append(f"{name}: {low:.6f} to {high:.6f} s, ngspice {other:.6f} s")
    return found


def read_circuits(text: str) -> list[Circuit]:
    circuits = []
    for line in text.splitlines():
        kind, *rest = line.split("\t")
        if kind == "circuit":
            circuits.append(Circuit(int(rest[0]), {"piecewise": [], "full": []}))
        else:
            circuits[-1].ours[kind].append(Ours(rest[0], *map(float, rest[1:])))
    return circuits


def compare(folder: Path, circuits: list[Circuit], models: str) -> tuple[Counter, list[str]]:
    counts, failures, apart = Counter(), [], []
    with ThreadPoolExecutor(AT_ONCE) as workers:
        results = workers.map(lambda circuit: run(folder, circuit, models), circuits)
        for circuit, theirs in zip(circuits, results):
            ours = circuit.ours[models][0]
            counts[ours.outcome] += 1
            if ours.is_delicate(ALLOWED[models]):
                counts[DELICATE] += 1
                continue
            if isinstance(theirs, Theirs) and 0.1 < ours.hold_off < math.inf:
                apart.append(abs(theirs.hold_off / ours.hold_off - 1.0))
            failures += [f"{models} circuit {circuit.number}: {text}"
                         for text in differences(circuit.ours[models], theirs, ALLOWED[models])]
    apart.sort()
    print(f"{models}: {dict(counts)}; hold-offs above 0.1 s are apart by "
          f"{apart[len(apart) // 2]:.2%} in the middle, {apart[-1]:.2%} at most")
    return counts, failures


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--netlists", required=True, help="the program that writes them")
    parser.add_argument("--count", type=int, default=200, help="circuits (%(default)s)")
    parser.add_argument("--seed", type=int, default=1, help="of the first (%(default)s)")
    parser.add_argument("--keep", type=Path, help="a folder for netlists and results")
    asked = parser.parse_args()
    if shutil.which("ngspice") is None:
        print("ngspice is not installed: scripts/setup installs it")
        return 1
    with tempfile.TemporaryDirectory() as made:
        folder = asked.keep or Path(made)
        done = subprocess.run([asked.netlists, str(folder), str(asked.count), str(asked.seed)],
                              check=True, capture_output=True, text=True)
        circuits = read_circuits(done.stdout)
        failures = []
        for models in ("piecewise", "full"):
            counts, found = compare(folder, circuits, models)
            failures += found
            if min(counts[STAYS_OFF], counts[COMES_BACK]) < asked.count // 10:
                failures.append("too few circuits of one verdict to compare anything")
            if counts[DELICATE] > asked.count * ALLOWED[models].left_out:
                failures.append(f"{models}: {counts[DELICATE]} circuits left out are too many")
    print("\n".join(failures[:60]))
    print(f"seed {asked.seed}, {len(circuits)} circuits, {len(failures)} differences")
    return 1 if failures or len(circuits) < asked.count else 0


if __name__ == "__main__":
    sys.exit(main())
