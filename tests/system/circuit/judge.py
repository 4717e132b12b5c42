# SPDX-License-Identifier: MIT
"""What a wave of ngspice means, and whether the tool's answer is the same."""

import math
from typing import NamedTuple

from decks import BEGIN
from levels import latch_level, release_level
from spice import Wave
from values import Values

STAYS_OFF, COMES_BACK, NEVER_RELEASES, NEVER_ON = (
    "stays off", "comes back", "never lets go", "does not stay on")
PART, SECONDS = 0.05, 5e-3  # times within the larger
BLUR = 0.7e-3  # of the voltage that decides: as well as ngspice's steps add it up


class Seen(NamedTuple):
    outcome: str
    opened: float = math.inf    # s after the first active level
    hold_off: float = math.inf  # s from there on
    rail_fall: float = math.inf
    held: tuple[float, float] = (0.0, math.inf)  # what hold_off may be, as well as it is known
    fell: tuple[float, float] = (0.0, math.inf)  # and rail_fall

    def known(self, name: str) -> tuple[float, float]:
        return {"hold_off": self.held, "rail_fall": self.fell, "opened": (self.opened, self.opened)}[name]


def falls(times: list[float], values: list[float], level: float) -> list[float]:
    """When it goes down through the level."""
    found = []
    for i in range(1, len(times)):
        if values[i - 1] > level >= values[i]:
            part = (values[i - 1] - level) / (values[i - 1] - values[i])
            found.append(times[i - 1] + part * (times[i] - times[i - 1]))
    return found


def first_after(begin: float, times: list[float]) -> float:
    return next((time - begin for time in times if time >= begin), math.inf)


def after(begin: float, times: list[float], values: list[float], level: float) -> list[float]:
    """When it falls through the level: at the earliest, as computed, and at the latest."""
    return sorted(first_after(begin, falls(times, values, level * known))
                  for known in (1.0 + BLUR, 1.0, 1.0 - BLUR))


def on_level(values: Values) -> float:
    """Of the wave's `drive`: gate drive, or 1 V for on."""
    return 0.5 if values.has("enable_threshold") else values["main_threshold"]


def see(values: Values, wave: Wave) -> Seen:
    level = on_level(values)
    openings = falls(wave.time, wave.drive, level)
    on_at_end = wave.drive[-1] > level
    if not openings:
        return Seen(NEVER_RELEASES)
    if openings[0] < BEGIN:
        return Seen(NEVER_ON)
    opened = openings[-1]
    outcome = COMES_BACK if on_at_end else STAYS_OFF
    release, latch = release_level(values), latch_level(values)
    held = after(opened, wave.time, wave.hold, release)
    fell = after(opened, wave.time, wave.rail, latch)
    return Seen(outcome, opened - BEGIN, held[1], fell[1], (held[0], held[2]), (fell[0], fell[2]))


def seconds(micros: float | None) -> float:
    return math.inf if micros is None else micros * 1e-6


def told(answer: dict, which: str) -> Seen:
    one = answer[which]
    names = ("opened_at", "hold_off", "rail_fall")
    return Seen(one["outcome"], *(seconds(one[f"{name}_us"]) for name in names))


def band(time: float) -> float:
    return max(PART * time, SECONDS)


def is_close(tool: Seen) -> bool:
    """So close that either verdict is within what times may differ."""
    if not math.isfinite(tool.hold_off - tool.rail_fall):
        return False
    return abs(tool.hold_off - tool.rail_fall) <= band(max(tool.hold_off, tool.rail_fall))


def differences(tool: Seen, spice: Seen) -> list[str]:
    if tool.outcome != spice.outcome:
        return [] if is_close(tool) else [f"the tool says {tool}, ngspice {spice}"]
    # Once the supply is back, the rail's fall cannot be seen any more.
    names = {STAYS_OFF: ("opened", "hold_off", "rail_fall"), COMES_BACK: ("opened", "hold_off")}
    found = []
    for name in names.get(tool.outcome, ()):
        mine, theirs = getattr(tool, name), getattr(spice, name)
        least, most = spice.known(name)
        if mine != theirs and not least - band(mine) <= mine <= most + band(mine):
            found.append(f"{name}: the tool {mine:.6f} s, ngspice {theirs:.6f} s ({tool.outcome})")
    return found
