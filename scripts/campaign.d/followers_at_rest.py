# SPDX-License-Identifier: MIT
"""Wake-ups of the service and of five `nightlatch follow --json` while nothing happens. A simulated
run has no watchdog to ping."""

import time

from part import PROGRAMS, STAGE, Result, Size
from processes import processor_time, settled, wake_ups
from stage import TIDE_LOGGER, Stage

SIZE = Size(300, 5, "s")
PROMISE = "neither the service nor a follower wakes up"
MEASURES = PROGRAMS + STAGE
FOLLOWERS = 5


def run(seconds: int) -> Result:
    with Stage(TIDE_LOGGER) as stage:
        followers = [stage.follower() for _ in range(FOLLOWERS)]
        pids = {"the service": stage.service.pid,
                **{f"follower {number}": one.process.pid for number, one in enumerate(followers, 1)}}
        settled(list(pids.values()))
        before = {name: (wake_ups(pid), processor_time(pid)) for name, pid in pids.items()}
        time.sleep(seconds)  # what is measured
        woken = {name: wake_ups(pid) - before[name][0] for name, pid in pids.items()}
        ticks = sum(processor_time(pid) - before[name][1] for name, pid in pids.items())
    broken = [f"{name} woke up {times} times" for name, times in woken.items() if times]
    return Result(f"1 service, {FOLLOWERS} followers: {sum(woken.values())} wake-ups, {ticks} processor "
                  "ticks", broken)
