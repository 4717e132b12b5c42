# SPDX-License-Identifier: MIT
"""The account of a run, line by line, and whether two runs tell the same.

A line is "SECONDS s  LANE  TEXT". Two accounts agree when they tell the same things in the same order,
each at the same time give or take a tolerance; the figures within the texts may differ by as much.
"""

import re
from typing import Iterable, NamedTuple

LINE = re.compile(r"^ *(\d+\.\d{3}) s  (\w*) +(.+)$")
FIGURE = re.compile(r"\d+(?:\.\d+)?")


class Told(NamedTuple):
    at: float  # seconds since the start of the script
    lane: str
    text: str


def account(lines: Iterable[str]) -> list[Told]:
    """What a simulated run or a rehearsal printed, without what is not an event."""
    found = (LINE.match(line) for line in lines)
    return [Told(float(one[1]), one[2], one[3]) for one in found if one]


def edge_by_edge(folded: list[Told], whole: list[Told]) -> list[Told]:
    """A rehearsal's account with each edge of a bounce, which it has with --all (`whole`), and without what
    the core notes for itself, which it has there, too."""
    return [told for told in whole if told.lane == "button" or told in folded]


def without_figures(text: str) -> str:
    return FIGURE.sub("#", text)


def difference(expected: list[Told], seen: list[Told], tolerance: float) -> str:
    """The first thing that the two tell otherwise; empty when they agree."""
    for number, (want, have) in enumerate(zip(expected, seen), 1):
        where = f"event {number}: expected {want}, saw {have}"
        if want.lane != have.lane or without_figures(want.text) != without_figures(have.text):
            return where
        if abs(want.at - have.at) > tolerance:
            return f"{where}: {abs(want.at - have.at) * 1e3:.1f} ms apart"
        for one, other in zip(FIGURE.findall(want.text), FIGURE.findall(have.text)):
            if abs(float(one) - float(other)) > tolerance:
                return f"{where}: the figures differ"
    if len(expected) != len(seen):
        more = (expected if len(expected) > len(seen) else seen)[min(len(expected), len(seen))]
        return f"{len(expected)} events expected, {len(seen)} seen; the first without a partner: {more}"
    return ""


def largest_lateness(expected: list[Told], seen: list[Told]) -> float:
    return max((have.at - want.at for want, have in zip(expected, seen)), default=0.0)
