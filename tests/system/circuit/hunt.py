# SPDX-License-Identifier: MIT
"""Looks for a wrong "yes": circuits at the verge, that is with a margin of at most 100 ms, which ngspice's
full models may bring back although the tool says that they stay off."""

import math
from typing import NamedTuple

from circuits import TOPOLOGIES, Circuit, Draw
from decks import LEVEL_1, WEAK
from judge import STAYS_OFF, Seen, see, told
from library import at_worst, library
from spice import simulate
from tool import Tool
from values import Values, values_of

VERGE = 0.1     # s of margin, at most
TRIES = 6       # to bring one circuit there
BETTER = (1.0, 4.0)  # RDS(on) is published at its largest: real parts have so many times less
LEAST = {"hold_capacitor": 2e-9, "rail_capacitance": 2e-7}
MOST = {"hold_capacitor": 20e-3, "rail_capacitance": 0.9}


class Verge(NamedTuple):
    circuit: Circuit
    margin: float  # s
    named: bool    # of library parts, at the worst corner
    exact: Values  # what decks are written from


def is_yes(answer: dict) -> bool:
    return answer["stays_off"] == "yes"


def next_value(key: str, value: float, worst: Seen, wanted: float) -> float:
    """The hold is about as long as its capacitor is large, and the fall as the rail's is."""
    if not (math.isfinite(worst.hold_off) and math.isfinite(worst.rail_fall)):
        return math.nan
    if key == "hold_capacitor":
        value *= (worst.rail_fall + wanted) / max(worst.hold_off, 1e-6)
    else:
        value *= max(worst.hold_off - wanted, 1e-4) / max(worst.rail_fall, 1e-6)
    return value if LEAST[key] <= value <= MOST[key] else math.nan


def tuned(tool: Tool, circuit: Circuit, draw: Draw) -> tuple[Circuit, dict] | None:
    """With a margin at the worst corner above nothing and below VERGE; None if it does not come there."""
    key = draw.one_of("hold_capacitor", "rail_capacitance")
    wanted = draw.between(0.0, VERGE)
    for _ in range(TRIES):
        answer = tool.ask(circuit)
        worst = told(answer, "worst")
        if is_yes(answer) and 0.0 < worst.hold_off - worst.rail_fall <= VERGE:
            return circuit, answer
        value = next_value(key, circuit.numbers[key], worst, wanted)
        if math.isnan(value):
            return None
        circuit = circuit.with_number(key, value)
    return None


def find_verge(tool: Tool, topology: str, seed: str) -> Verge | None:
    draw = Draw(f"{seed} tuning")
    named = draw.once_in(2)
    circuit = library(topology, seed) if named else TOPOLOGIES[topology](seed)
    found = tuned(tool, circuit, draw)
    if found is None:
        return None
    circuit, answer = found
    worst = told(answer, "worst")
    exact = at_worst(circuit, answer) if named else circuit
    return Verge(circuit, worst.hold_off - worst.rail_fall, named, values_of(exact, draw.about(*BETTER)))


def wrong(verge: Verge) -> list[str]:
    """What ngspice makes of it where that is not what the tool says."""
    found = []
    for models in (LEVEL_1, WEAK):
        seen = see(verge.exact, simulate(verge.exact, models))
        if seen.outcome != STAYS_OFF:
            found.append(f"{verge.circuit.topology} {verge.circuit.seed}: the tool says yes, with "
                         f"{verge.margin * 1e3:.1f} ms; {models}: {seen.outcome}")
    return found
