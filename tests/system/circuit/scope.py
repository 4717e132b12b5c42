# SPDX-License-Identifier: MIT
"""An oscilloscope before a deck: ngspice's voltages as one with eight bits, noise and a trigger would
export them."""

import bisect
import random
import re
import subprocess
from pathlib import Path
from typing import NamedTuple

SIGNALS = ("line", "hold", "rail")


class Scope(NamedTuple):
    samples: int = 4000
    noise: float = 0.01       # V, standard deviation
    offset: float = 0.0       # V, of the hold capacitor's channel
    bits: int = 8             # 0: exact
    full: float = 6.4         # V, of the screen
    before: float = 0.05      # s of it before the line rises; negative: the trigger comes late
    after: float | None = None  # s after it; None: all
    seed: int = 1


def simulate(deck: str, folder: Path) -> dict[str, list[float]]:
    """Times and voltages by signal."""
    deck = re.sub(r"wrdata \S+ .*", "wrdata wave v(line) v(hold) v(rail)", deck)
    (folder / "wave").unlink(missing_ok=True)
    (folder / "deck.cir").write_text(deck)
    done = subprocess.run(["ngspice", "-b", "deck.cir"], cwd=folder, capture_output=True, text=True,
                          timeout=60, check=False)
    if not (folder / "wave").exists():
        raise RuntimeError(f"ngspice gave up: {(done.stdout + done.stderr)[-300:]}")
    rows = [[float(word) for word in line.split()] for line in (folder / "wave").read_text().splitlines()]
    return dict(zip(("time", *SIGNALS), map(list, zip(*rows))))


def value_at(times: list[float], values: list[float], when: float) -> float:
    if when <= times[0]:
        return values[0]
    i = bisect.bisect_left(times, when)
    if i >= len(times):
        return values[-1]
    part = (when - times[i - 1]) / (times[i] - times[i - 1])
    return values[i - 1] + part * (values[i] - values[i - 1])


def sampled(value: float, scope: Scope, dice: random.Random) -> float:
    value += dice.gauss(0.0, scope.noise) if scope.noise else 0.0
    if not scope.bits:
        return value
    step = scope.full / 2 ** scope.bits
    return round(min(max(value, -scope.full / 8), scope.full) / step) * step


def capture(wave: dict[str, list[float]], scope: Scope, signals=SIGNALS) -> str:
    """Before the deck's beginning line and capacitor are at ground, and the rail is up."""
    dice = random.Random(scope.seed)
    begin, end = -scope.before, scope.after if scope.after is not None else wave["time"][-1]
    rows = ["Source," + ",".join(signals), "Second," + ",".join("Volt" for _ in signals)]
    for i in range(scope.samples):
        when = begin + (end - begin) * i / (scope.samples - 1)
        fields = []
        for signal in signals:
            value = value_at(wave["time"], wave[signal], max(when, 0.0))
            if when < 0.0 and signal != "rail":
                value = 0.0
            value += scope.offset if signal == "hold" else 0.0
            fields.append(f"{sampled(value, scope, dice):.5e}")
        rows.append(f"{when:.6e}," + ",".join(fields))
    return "\n".join(rows) + "\n"
