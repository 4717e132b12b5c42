# SPDX-License-Identifier: MIT
"""What the service with its object on the bus has written to and so holds alone (a simulated run, at
rest), beside a minimal C program with the same libraries on the same bus."""

from part import PROGRAMS, STAGE, Result, Size
from processes import memory, minimal, settled, unit_environment
from stage import TIDE_LOGGER, Stage

SIZE = Size(10, 1, "starts")
PROMISE = "at most 1.3 times the minimal program's memory"
MEASURES = PROGRAMS + STAGE
MOST = 1.3


def start() -> tuple[int, int]:
    """KiB of the service and of the minimal program."""
    with Stage(TIDE_LOGGER) as stage:
        follower = stage.follower()
        follower.stop()
        unit = (f"{name}={value}" for name, value in unit_environment().items())
        least = stage.program("env", *unit, minimal("-DON_THE_BUS"))
        least.wait_for_line("ready")
        settled([stage.service.pid, least.process.pid])
        return memory(stage.service.pid)["written"], memory(least.process.pid)["written"]


def run(starts: int) -> Result:
    pairs = [start() for _ in range(starts)]
    ratios = [service / least for service, least in pairs]
    worst = max(range(starts), key=lambda at: ratios[at])
    broken = []
    if ratios[worst] > MOST:
        broken.append(f"{ratios[worst]:.2f} times as much, more than {MOST}")
    return Result(f"{pairs[worst][0]} KiB to {pairs[worst][1]} KiB: {min(ratios):.2f} to "
                  f"{ratios[worst]:.2f} times", broken)
