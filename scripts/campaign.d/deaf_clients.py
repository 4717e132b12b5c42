# SPDX-License-Identifier: MIT
"""Twenty programs that follow and never read any more: what that costs the bus daemon and the service,
which must still answer and get its own (dry) request to a stand-in for the login manager. A program
that does not read is `nightlatch follow` that was stopped by a signal."""

import json
import os
import signal
import subprocess
import tempfile
import time
from pathlib import Path

from part import PROGRAMS, STAGE, Result, Size
from player import Program
from processes import memory
from stage import TOP, Stage, wait_until

SIZE = Size(10_000, 500, "changes")
PROMISE = "the service grows by at most 64 KiB, answers, and asks for power-off"
MEASURES = PROGRAMS + STAGE
CLIENTS = 20
MOST_KIB = 64
# Each press passes all but the last stage, and each is a change.
STAGES = 10
CONFIG = """[button]
chip = "soc-gpio"
line = "LID_BUTTON"
pressed = "low"
debounce = {{ press = "10 ms", release = "10 ms" }}
{stages}
[[stage]]
name = "off"
hold = "500 ms"
action = "power-off"
"""


def configuration() -> str:
    return CONFIG.format(stages="\n".join(
        f'[[stage]]\nname = "{number}"\nhold = "{number * 12 + 10} ms"\naction = "announce"'
        for number in range(1, STAGES + 1)))


class Counter(Program):
    """Counts the changes that it is told, and keeps the last."""

    def _read(self) -> None:
        self.count, self.last = 0, {}
        for line in self.process.stdout:
            record = json.loads(line)
            if "cue" in record:
                self.count, self.last = self.count + 1, record
            with self.changed:
                self.said = [line]
                self.changed.notify_all()


def stopped(pid: int) -> bool:
    return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] == "T"


def deaf(stage: Stage) -> None:
    """Ends with the stage."""
    pid = stage.follower().process.pid
    os.kill(pid, signal.SIGSTOP)
    stage.opened.callback(os.kill, pid, signal.SIGCONT)
    if not wait_until(lambda: stopped(pid)):
        raise AssertionError("a follower cannot be stopped")


def press(stage: Stage, counter: Counter, changes: int) -> None:
    """Until so many more were told. Not so fast that the line counts as disturbed."""
    end = counter.count + changes
    due = time.monotonic()
    while counter.count < end:
        before = counter.count
        for _ in range(5):
            stage.types(f"press {STAGES * 12 + 30} ms")
            due = max(due + 0.24, time.monotonic())
            time.sleep(max(0.0, due - time.monotonic()))
        if not wait_until(lambda: counter.count > before):
            raise AssertionError("the service tells no more changes")


def asks(stage: Stage, counter: Counter, manager: Program) -> list[str]:
    """What is wrong with how the service answers and asks."""
    broken = []
    if json.loads(stage.status() or "{}").get("running") is not True:
        broken.append("it does not answer")
    stage.types("press 700 ms")
    if not wait_until(lambda: counter.last.get("cue") == "leaving"):
        broken.append(f"no request: {counter.last.get('cue')}, {counter.last.get('reason')}")
    if not wait_until(lambda: "CanPowerOff" in manager.said):
        broken.append("the login manager was not asked")
    return broken


def run(changes: int) -> Result:
    with tempfile.TemporaryDirectory(prefix="nightlatch-") as folder:
        config = Path(folder) / "nightlatch.toml"
        config.write_text(configuration())
        with Stage(config) as stage:
            manager = stage.program(TOP / "tests/support/player/login_manager.py",
                                    stdin=subprocess.PIPE)
            manager.wait_for_line("here")
            counter = stage.follower(Counter)
            for _ in range(CLIENTS):
                deaf(stage)
            press(stage, counter, changes // 5)  # what is needed once is there
            pids = (stage.service.pid, stage.bus.daemon.pid)
            before, first = [memory(pid)["written"] for pid in pids], counter.count
            press(stage, counter, changes)
            after, count = [memory(pid)["written"] for pid in pids], counter.count - first
            broken = asks(stage, counter, manager)
    service, bus = (late - early for early, late in zip(before, after))
    if service > MOST_KIB:
        broken.append(f"the service grew by {service} KiB")
    return Result(f"{CLIENTS} clients, {count} changes: the service {service:+} KiB, "
                  f"{service * 1024 / count:.1f} bytes a change; the bus daemon {bus:+} KiB, "
                  f"{bus * 1024 / count:.0f}", broken)
