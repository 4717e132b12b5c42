#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""Before: a tide display that watches the button itself, in the loop that draws. See MOVING-IN.md.

  before.py LEVEL-FILE    the file reads 0 while the button is pressed
"""

import subprocess
import sys
import time

FRAME = 1 / 30
HOLD = 3.0


class ButtonTimer:
    """Pressed for three seconds, by the clock of whoever draws."""

    def __init__(self) -> None:
        self.pressed_at = None

    def update(self, pressed: bool, now: float) -> str:
        if not pressed:
            released, self.pressed_at = self.pressed_at, None
            return "off" if released is not None and now - released >= HOLD else "tide"
        if self.pressed_at is None:
            self.pressed_at = now
        return "let go" if now - self.pressed_at >= HOLD else "hold"


def draw(screen: str) -> None:
    print(screen, flush=True)


def main(level_file: str) -> None:
    timer, shown = ButtonTimer(), None
    while True:
        with open(level_file, encoding="ascii") as file:
            pressed = file.read().strip() == "0"
        screen = timer.update(pressed, time.monotonic())
        if screen != shown:
            draw(screen)
        shown = screen
        if screen == "off":
            subprocess.run(["sudo", "shutdown", "-h", "now"])
            return
        time.sleep(FRAME)


if __name__ == "__main__":
    main(sys.argv[1])
