# SPDX-License-Identifier: MIT
"""How late a plain timer is on this machine at the moment: no program here can be more punctual."""

import select
import subprocess
import sys
import time

TICK = 0.01  # s


class Metronome:
    """Ticks in a process of its own for as long as it is open; then `late` holds each tick's ms."""

    def __enter__(self) -> "Metronome":
        self.late: list[float] = []
        self.process = subprocess.Popen([sys.executable, __file__], text=True, stdin=subprocess.PIPE,
                                        stdout=subprocess.PIPE)
        self.process.stdout.readline()  # it has begun
        return self

    def __exit__(self, *_: object) -> None:
        said, _ = self.process.communicate()  # the end of its input ends it
        self.late = [float(word) for word in said.split()]


def tick() -> None:
    print("ticks", flush=True)
    late = []
    due = time.monotonic() + TICK
    while not select.select([sys.stdin], [], [], max(0.0, due - time.monotonic()))[0]:
        now = time.monotonic()
        late.append((now - due) * 1e3)
        due = now + TICK
    print(*(f"{one:.3f}" for one in late))


if __name__ == "__main__":
    tick()
