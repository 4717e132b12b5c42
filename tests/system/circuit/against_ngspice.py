#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""nightlatch circuit beside ngspice, on random circuits of each topology, of which none is left out.

The decks come from the keys of [circuit] alone (decks.py). With the same ideal switches: the same verdict,
and the times within the larger of 5 % and 5 ms. With device equations, thresholds where the data sheets have
them: a "stays off" that ngspice brings back is a failure; of the others, which are on the safe side, at most
10 % may differ. Ends with 0 only when all that holds.
"""

import argparse
import shutil
import sys
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import NamedTuple

sys.dont_write_bytecode = True
sys.path.insert(0, str(Path(__file__).resolve().parent))

import spice  # noqa: E402
from circuits import TOPOLOGIES, Circuit, Draw  # noqa: E402
from decks import BEGIN, EARLY, IDEAL, LEVEL_1, WEAK  # noqa: E402
from hunt import BETTER  # noqa: E402
from judge import COMES_BACK, NEVER_ON, STAYS_OFF, Seen, differences, is_close, see, told  # noqa: E402
from levels import release_levels  # noqa: E402
from tool import Refused, Tool  # noqa: E402
from values import Values, values_of  # noqa: E402

AT_ONCE = 2
MOST_WRONG_NO = 0.10
ENOUGH = 50  # circuits, to tell a share
LEAST_OF_EACH = 0.10  # stays off, comes back: fewer would compare nothing


class Row(NamedTuple):
    outcome: str
    close: bool
    wrong: list[str]  # each is a failure
    safe: int         # of the full models, how many stay off where the tool says that it does not


def after_first_level(values: Values, wave: spice.Wave) -> float:
    """V of the hold capacitor."""
    end = BEGIN + values["active_delay"]
    return max(hold for time, hold in zip(wave.time, wave.hold) if time <= end)


def second_level(values: Values) -> float:
    return values["active_delay"] + values["inactive_delay"]


def by_switches(mine: Seen, values: Values) -> list[str]:
    """What differs with the same switches. A circuit that the second active level opens is also tried with a
    release stage that is on early: where the first level then opens it, it comes back, as the tool has it."""
    seen = see(values, spice.simulate(values, IDEAL))
    if seen.outcome != STAYS_OFF or seen.opened <= second_level(values):
        return differences(mine, seen)
    wave = spice.simulate(values, EARLY)
    begins, level = release_levels(values)
    if begins <= after_first_level(values, wave) < level:
        # The first level may open it, so that the board dies without a second: nothing is left to compare.
        return [] if mine.outcome == COMES_BACK else [f"the tool says {mine}, the first level may open it"]
    return differences(mine, seen)


def compare(tool: Tool, circuit: Circuit) -> Row:
    mine = told(tool.ask(circuit), "typical")
    name = f"{circuit.topology} {circuit.seed}"
    wrong = [f"{name}: {text}" for text in by_switches(mine, values_of(circuit))]
    if mine.outcome == NEVER_ON:
        return Row(NEVER_ON, False, wrong, 0)
    values = values_of(circuit, Draw(f"{circuit.seed} better").about(*BETTER))
    safe = 0
    for models in (LEVEL_1, WEAK):
        seen = see(values, spice.simulate(values, models))
        if mine.outcome == STAYS_OFF and seen.outcome != STAYS_OFF:
            wrong.append(f"{name}: a wrong yes, {mine}; {models}: {seen}")
        safe += mine.outcome != STAYS_OFF and seen.outcome == STAYS_OFF
    return Row(mine.outcome, is_close(mine), wrong, safe)


def try_one(tool: Tool, circuit: Circuit) -> Row:
    try:
        return compare(tool, circuit)
    except (spice.GaveUp, Refused) as error:
        return Row("none", False, [f"{circuit.topology} {circuit.seed}: {error}"], 0)


def run(tool: Tool, topology: str, count: int, seed: str) -> list[str]:
    circuits = [TOPOLOGIES[topology](f"{seed}-{number}") for number in range(count)]
    with ThreadPoolExecutor(AT_ONCE) as workers:
        rows = list(workers.map(lambda circuit: try_one(tool, circuit), circuits))
    outcomes = Counter(row.outcome for row in rows)
    failures = [text for row in rows for text in row.wrong]
    share = sum(row.safe for row in rows) / (2 * count)
    print(f"{topology}: {count} circuits, {dict(outcomes)}, {sum(row.close for row in rows)} so close that "
          f"either is right; {len(failures)} wrong; a wrong no in {share:.1%} of the full models", flush=True)
    if count >= ENOUGH and share > MOST_WRONG_NO:
        failures.append(f"{topology}: a wrong no in {share:.1%}, more than {MOST_WRONG_NO:.0%}")
    if min(outcomes[STAYS_OFF], outcomes[COMES_BACK]) < LEAST_OF_EACH * count:
        failures.append(f"{topology}: too few of one outcome to compare anything")
    return failures


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__,
                                     formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--tool", type=Path, required=True, help="nightlatch")
    parser.add_argument("--count", type=int, default=200, help="circuits of each topology (%(default)s)")
    parser.add_argument("--seed", default="1", help="of all of them (%(default)s)")
    parser.add_argument("topologies", nargs="*", metavar="TOPOLOGY", help=", ".join(TOPOLOGIES))
    asked = parser.parse_args()
    if shutil.which("ngspice") is None:
        print("ngspice is not installed: scripts/setup installs it")
        return 1
    failures = []
    for topology in asked.topologies or TOPOLOGIES:
        failures += run(Tool(asked.tool), topology, asked.count, asked.seed)
    print(*failures[:40], sep="\n")
    print(f"seed {asked.seed}: {len(failures)} failures")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
