# SPDX-License-Identifier: MIT
"""The virtual board's plug is pulled at random instants around a press, and what the next boot's logbook says
of the run is compared with what its disk said from outside in between (scripts/board --plugs)."""

import random

import kept
import on_board
from part import PROGRAMS, Result, Size

SIZE = Size(50, 0, "plugs")
INSTEAD = "scripts/board pulls four at fixed instants"
PROMISE = "never orderly where the file system needed recovery, always orderly after a clean end"
MEASURES = (*PROGRAMS, *on_board.MADE_OF, "systemd")
AT_ONCE = 10  # after so many, what came of them is kept
PROGRESS = "pulled-plugs-so-far"


def fresh() -> dict:
    return {"seed": random.randrange(10 ** 6), "done": 0, "broken": [], "unclear": []}


def run(amount: int) -> Result:
    key = kept.key_of(MEASURES)
    so_far = kept.read(PROGRESS, key)
    if not so_far or so_far["done"] >= amount:  # none was begun, or the last one came to its end
        so_far = fresh()
    print(f"  seed {so_far['seed']}, {so_far['done']} of {amount} done", flush=True)
    while so_far["done"] < amount:
        first, last = so_far["done"] + 1, min(so_far["done"] + AT_ONCE, amount)
        ran = on_board.scenarios("--plugs", str(so_far["seed"]), str(first), str(last))
        so_far = kept.write(PROGRESS, key, {"seed": so_far["seed"], "done": last,
                                            "broken": so_far["broken"] + ran.broken,
                                            "unclear": so_far["unclear"] + ran.unclear})
    return Result(f"{amount} plugs of the seed {so_far['seed']}", so_far["broken"], so_far["unclear"])
