# SPDX-License-Identifier: MIT
"""An application on the board: `nightlatch follow --json` in the guest, and what it has been told."""

import json

import guest
from image import Failed
from qemu import BUZZER, LED
from scenario import check

FILE = "/run/follow.json"
HOLD = 1.0  # seconds; of the one stage in the configuration below
CLEAR = 0.5  # what the presses keep from it


def countdown_config(grace):
    """The front button with a countdown, and outputs of which one changes with every cue."""
    return f"""[button]
chip = "9030000.pl061"
line = "FRONT_BUTTON"
pressed = "low"
debounce = "30 ms"

[[stage]]
name = "off"
hold = "{HOLD:.0f} s"
action = "power-off"

[leave]
grace = "{grace:.0f} s"

[[feedback]]
led = "front"
holding = "on"
countdown = "on"

[[feedback]]
chip = "9030000.pl061"
line = "BUZZER"
rest = "on"
refused = "on"
"""


# By what each cue of a gesture is known to a bystander, where the one before it is known, too.
SEEN = {"holding": (LED, 1), "ready": (LED, 0), "countdown": (LED, 1), "waiting": (LED, 0),
        "leaving": (LED, 0), "rest": (BUZZER, 1), "refused": (BUZZER, 1)}


class Follower:
    """Remembers how far it has been looked at: what is waited for is looked for after that."""

    def __init__(self, board):
        self.board, self.looked_at = board, 0
        board.tell(f"systemd-run -q --unit=follower -p StandardOutput=file:{FILE} "
                   "nightlatch follow --json")
        self.wait_cue("rest")

    def _wait(self, words, timeout):
        status, found = self.board.ask(
            f"grep -n -m 1 -F '{words}' < "
            f"<(exec timeout {timeout} tail -n +{self.looked_at + 1} -f {FILE} 2>/dev/null)",
            timeout + 30)
        if status:
            raise Failed(f"the follower was not told {words} in {timeout} s, but\n"
                         + "\n".join(str(record) for record in self.told()[self.looked_at:]))
        number, _, line = found.partition(":")
        self.looked_at += int(number)
        return json.loads(line)

    def wait_cue(self, cue, timeout=30):
        return self._wait(f'"cue":"{cue}"', timeout)

    def wait_absent(self, why, timeout=30):
        gone = self._wait(f'"why":"{why}"', timeout)
        check(gone["running"] is False, f"it says why, but not that it is not running: {gone}")
        return gone

    def told(self):
        return [json.loads(line) for line in self.board.tell(f"cat {FILE}").splitlines()]


def hold(board):
    """Held long enough and let go; returns both moments."""
    pressed = board.press()
    return pressed, board.at(pressed + HOLD + CLEAR, board.release)


def in_countdown(board, follower):
    """A hold's; when it was let go, and what the follower was told of the countdown."""
    _, released = hold(board)
    return released, follower.wait_cue("countdown")


def configured(run, grace):
    """A board with that countdown, and a follower on it."""
    board = run.restored()
    run.margin("held longer than the stage asks", CLEAR)
    guest.configure(board, countdown_config(grace))
    guest.wait_status(board, "rest")
    return board, Follower(board)
