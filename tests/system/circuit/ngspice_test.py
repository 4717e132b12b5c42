#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The transient beside ngspice, on random circuits of every kind of stage, of which none is left out.

The decks have the same piecewise models, so this asks whether the events are computed right: the
verdict, and both times within max(2 %, 2 ms); ngspice's own times are known as well as its voltages at
the levels, 0.2 mV (its line takes 20 us to change, and its switches tens of microvolts to close). Real
device models are another test's. Ends with 0 only when all agree.
"""

import argparse
import math
import re
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


PART, SECONDS = 0.02, 0.002
BLUR = 0.2e-3  # V: how well a level's place in ngspice's wave is known


def band(time: float) -> float:
    return max(PART * time, SECONDS)


# Where ngspice's own step control gives up; what is asked of it is still much finer than the bands.
OPTIONS = "method=gear reltol=1e-5 trtol=1"
OTHER_OPTIONS = ("method=gear reltol=1e-4 trtol=7", "method=trap reltol=1e-4 trtol=7",
                 "method=gear reltol=1e-3 trtol=7")


class Ours(NamedTuple):
    outcome: str
    opened: float
    hold_off: float
    rail_fall: float
    release_level: float
    latch_level: float
    drive_level: float
    release_begins: float

    def is_close(self) -> bool:
        """So close that the verdict may be either."""
        margin = self.hold_off - self.rail_fall
        return math.isfinite(margin) and abs(margin) <= band(max(self.hold_off, self.rail_fall))


class Circuit(NamedTuple):
    number: int
    ours: Ours


class Theirs(NamedTuple):
    outcome: str
    opened: float
    hold_off: tuple[float, float]  # from, to
    rail_fall: tuple[float, float]


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
    openings = falls_through(wave.time, wave.drive, ours.drive_level, 0.0)
    if not openings:
        return Theirs(NEVER_RELEASES, math.inf, (0.0, math.inf), (0.0, math.inf))
    opened = openings[-1]

    def fall(values: list[float], level: float) -> float:
        # Next to its threshold the transistor may let go just before the switch has opened, and what
        # is below the level already never falls through it.
        found = falls_through(wave.time, values, level, opened)
        return found[0] - opened if found else math.inf if values[-1] > level else 0.0

    def between(values: list[float], level: float) -> tuple[float, float]:
        return fall(values, level + BLUR), fall(values, level - BLUR)

    again = wave.drive[-1] > ours.drive_level
    return Theirs(COMES_BACK if again else STAYS_OFF, opened,
                  between(wave.hold, ours.release_level),
                  between(wave.rail, ours.latch_level))


def simulate(folder: Path, name: str) -> str:
    """What ngspice complains of; empty if nothing."""
    done = subprocess.run(["ngspice", "-b", f"{name}.cir"], cwd=folder, capture_output=True,
                          text=True, timeout=60)
    said = done.stdout + done.stderr
    return said[-300:] if "aborted" in said or not (folder / name).exists() else ""


def rewrite(deck: Path, change) -> None:
    deck.write_text(change(deck.read_text()))


def ten_times_as_long(text: str) -> str:
    def longer(tran: re.Match) -> str:
        step, end, start, largest = map(float, tran.groups())
        return f".tran {step * 10} {end * 10} {start} {largest * 10} uic"
    return re.sub(r"\.tran (\S+) (\S+) (\S+) (\S+) uic", longer, text)


def run(folder: Path, circuit: Circuit) -> Theirs | str:
    name = str(circuit.number)
    deck = folder / f"{name}.cir"
    said, options = simulate(folder, name), OPTIONS
    for other in OTHER_OPTIONS:
        if said:
            rewrite(deck, lambda text: text.replace(options, other))
            said, options = simulate(folder, name), other
    if said:
        return f"ngspice gave up: {said}"
    ours = circuit.ours
    wave = read_wave(folder / name)
    if wave.drive[-1] < ours.drive_level and wave.hold[-1] > ours.release_level - BLUR:
        rewrite(deck, ten_times_as_long)  # it ended before the stage let go
        if said := simulate(folder, name):
            return f"ngspice gave up: {said}"
        wave = read_wave(folder / name)
    return judge(wave, ours)


def could_be(ours: Ours, theirs: Theirs) -> bool:
    """Would the time for which ngspice holds it, as far as that is known, make its verdict ours?"""
    if not ours.opened < math.inf:
        return False
    fall = ours.rail_fall
    if theirs.outcome == STAYS_OFF:
        return theirs.hold_off[1] >= fall - band(fall)
    return theirs.outcome == COMES_BACK and theirs.hold_off[0] <= fall + band(fall)


def differences(ours: Ours, theirs: Theirs | str) -> list[str]:
    if isinstance(theirs, str):
        return [theirs]
    if theirs.outcome != ours.outcome:
        close = ours.is_close() or could_be(ours, theirs)
        return [] if close else [f"we say {ours.outcome}, ngspice {theirs.outcome}"]
    if theirs.outcome not in (STAYS_OFF, COMES_BACK):
        return []
    found = []
    # Once the supply is back, the rail's fall cannot be seen any more.
    names = ["hold_off", "rail_fall"] if theirs.outcome == STAYS_OFF else ["hold_off"]
    if ours.release_begins < ours.release_level:
        names = []  # let go below its level, when the line ended: the capacitor's wave does not show it
    for name in names:
        # One that never opens is held for no time at all.
        mine = getattr(ours, name) if ours.opened < math.inf else 0.0
        first, last = getattr(theirs, name)
        if last < mine - band(mine) or first > mine + band(mine):
            found.append(f"{name}: {mine:.6f} s, ngspice {first:.6f} to {last:.6f} s")
    return found


def read_circuits(text: str) -> list[Circuit]:
    circuits = []
    for line in text.splitlines():
        number, outcome, *rest = line.split("\t")
        circuits.append(Circuit(int(number), Ours(outcome, *map(float, rest))))
    return circuits


def compare(folder: Path, circuits: list[Circuit]) -> tuple[Counter, list[str]]:
    counts, failures, apart = Counter(), [], []
    with ThreadPoolExecutor(AT_ONCE) as workers:
        results = workers.map(lambda circuit: run(folder, circuit), circuits)
        for circuit, theirs in zip(circuits, results):
            ours = circuit.ours
            counts[ours.outcome] += 1
            if isinstance(theirs, Theirs) and 0.1 < ours.hold_off < math.inf:
                apart.append(abs(sum(theirs.hold_off) / 2 / ours.hold_off - 1.0))
            failures += [f"circuit {circuit.number}: {text}" for text in differences(ours, theirs)]
    apart.sort()
    print(f"{dict(counts)}; hold-offs above 0.1 s are apart by {apart[len(apart) // 2]:.2%} in the "
          f"middle, {apart[len(apart) * 9 // 10]:.2%} at nine tenths, {apart[-1]:.2%} at most")
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
        counts, failures = compare(folder, circuits)
        print("\n".join(failures[:30]) or "no difference")
        if min(counts[STAYS_OFF], counts[COMES_BACK]) < asked.count // 10:
            failures.append("too few circuits of one verdict to compare anything")
    print(f"seed {asked.seed}, {len(circuits)} circuits, {len(failures)} differences")
    return 1 if failures or len(circuits) < asked.count else 0


if __name__ == "__main__":
    sys.exit(main())
