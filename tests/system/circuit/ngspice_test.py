#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The transient beside ngspice, on random circuits, of which none is left out.

With the same piecewise models: the verdict, and both times within max(2 %, 2 ms); ngspice's own times
are known as well as its voltages at the thresholds, 0.2 mV (its line takes 20 us to change, and its
switches tens of microvolts to close). With an exponential diode and square-law MOSFETs: within
max(10 %, 20 ms) of what we compute for thresholds up to 0.1 V off; the release threshold's place is
known as well as the overdrive that such a transistor needs while the rail is up, and no longer needs
when it is down: some 10 to 100 mV. Ends with 0 only when all agree.
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


class Allowed(NamedTuple):
    part: float     # of a time, or
    seconds: float  # so many
    decided: float  # at least this part of the circuits has one verdict, thresholds off or not

    def band(self, time: float) -> float:
        return max(self.part * time, self.seconds)


ALLOWED = {"piecewise": Allowed(0.02, 0.002, 1.0), "full": Allowed(0.10, 0.020, 0.85)}
DECIDED = "one verdict for all thresholds"
# Where ngspice's own step control gives up; what is asked of it is still much finer than the bands.
OPTIONS = "method=gear reltol=1e-5 trtol=1"
OTHER_OPTIONS = ("method=gear reltol=1e-4 trtol=7", "method=trap reltol=1e-4 trtol=7",
                 "method=gear reltol=1e-3 trtol=7")


class Ours(NamedTuple):
    outcome: str
    opened: float
    hold_off: float
    rail_fall: float
    release_threshold: float
    latch_level: float
    main_threshold: float
    blur: float  # V: how well a threshold's place in ngspice's wave is known

    def is_close(self, allowed: Allowed) -> bool:
        """So close that the verdict may be either."""
        margin = self.hold_off - self.rail_fall
        return math.isfinite(margin) and \
            abs(margin) <= allowed.band(max(self.hold_off, self.rail_fall))


class Circuit(NamedTuple):
    number: int
    ours: dict[str, list[Ours]]  # by models


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
    openings = falls_through(wave.time, wave.drive, ours.main_threshold, 0.0)
    if not openings:
        return Theirs(NEVER_RELEASES, math.inf, (0.0, math.inf), (0.0, math.inf))
    opened = openings[-1]

    def fall(values: list[float], level: float) -> float:
        # Next to its threshold the transistor may let go just before the switch has opened, and what
        # is below the level already never falls through it.
        found = falls_through(wave.time, values, level, opened)
        return found[0] - opened if found else math.inf if values[-1] > level else 0.0

    def between(values: list[float], level: float) -> tuple[float, float]:
        return fall(values, level + ours.blur), fall(values, level - ours.blur)

    again = wave.drive[-1] > ours.main_threshold
    return Theirs(COMES_BACK if again else STAYS_OFF, opened,
                  between(wave.hold, ours.release_threshold),
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


def run(folder: Path, circuit: Circuit, models: str) -> Theirs | str:
    name = f"{circuit.number}.{models}"
    deck = folder / f"{name}.cir"
    said, options = simulate(folder, name), OPTIONS
    for other in OTHER_OPTIONS:
        if said:
            rewrite(deck, lambda text: text.replace(options, other))
            said, options = simulate(folder, name), other
    if said:
        return f"ngspice gave up: {said}"
    ours = circuit.ours[models][0]
    wave = read_wave(folder / name)
    if wave.drive[-1] < ours.main_threshold and wave.hold[-1] > ours.release_threshold - ours.blur:
        rewrite(deck, ten_times_as_long)  # it ended before the transistor let go
        if said := simulate(folder, name):
            return f"ngspice gave up: {said}"
        wave = read_wave(folder / name)
    return judge(wave, ours)


def could_be(several: list[Ours], theirs: Theirs, allowed: Allowed) -> bool:
    """Would the time for which ngspice holds it, as far as that is known, make its verdict ours?"""
    falls = [ours.rail_fall for ours in several if ours.opened < math.inf]
    if not falls:
        return False
    if theirs.outcome == STAYS_OFF:
        return theirs.hold_off[1] >= min(falls) - allowed.band(min(falls))
    return theirs.outcome == COMES_BACK and theirs.hold_off[0] <= max(falls) + allowed.band(max(falls))


def differences(several: list[Ours], theirs: Theirs | str, allowed: Allowed) -> list[str]:
    """`several`: what we compute, for one pair of thresholds or for all within the band."""
    if isinstance(theirs, str):
        return [theirs]
    outcomes = {ours.outcome for ours in several}
    if theirs.outcome not in outcomes:
        close = any(ours.is_close(allowed) for ours in several) or could_be(several, theirs, allowed)
        return [] if close else [f"we say {' or '.join(outcomes)}, ngspice {theirs.outcome}"]
    if theirs.outcome not in (STAYS_OFF, COMES_BACK):
        return []
    found = []
    # Once the supply is back, the rail's fall cannot be seen any more.
    names = ["hold_off", "rail_fall"] if theirs.outcome == STAYS_OFF else ["hold_off"]
    for name in names:
        # One that never lets go is held for no time at all.
        mine = [getattr(ours, name) if ours.opened < math.inf else 0.0 for ours in several]
        low, high = min(mine), max(mine)
        first, last = getattr(theirs, name)
        if last < low - allowed.band(low) or first > high + allowed.band(high):
            found.append(f"{name}: {low:.6f} to {high:.6f} s, ngspice {first:.6f} to {last:.6f} s")
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
            several = circuit.ours[models]
            ours = several[0]
            counts[ours.outcome] += 1
            counts[DECIDED] += len({one.outcome for one in several}) == 1
            if isinstance(theirs, Theirs) and 0.1 < ours.hold_off < math.inf:
                apart.append(abs(sum(theirs.hold_off) / 2 / ours.hold_off - 1.0))
            failures += [f"{models} circuit {circuit.number}: {text}"
                         for text in differences(several, theirs, ALLOWED[models])]
    apart.sort()
    print(f"{models}: {dict(counts)}; hold-offs above 0.1 s are apart by "
          f"{apart[len(apart) // 2]:.2%} in the middle, {apart[len(apart) * 9 // 10]:.2%} at nine "
          f"tenths, {apart[-1]:.2%} at most")
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
            print("\n".join(found[:30]) or f"{models}: no difference")
            if min(counts[STAYS_OFF], counts[COMES_BACK]) < asked.count // 10:
                failures.append("too few circuits of one verdict to compare anything")
            if counts[DECIDED] < asked.count * ALLOWED[models].decided:
                failures.append(f"{models}: only {counts[DECIDED]} circuits with one verdict")
    print(f"seed {asked.seed}, {len(circuits)} circuits, {len(failures)} differences")
    return 1 if failures or len(circuits) < asked.count else 0


if __name__ == "__main__":
    sys.exit(main())
