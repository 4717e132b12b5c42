# SPDX-License-Identifier: MIT
"""scripts/screen as a user runs it, with the service, the tool and the bridge: only the keys come from a
pipe or a terminal made here, and the page is read without a browser; but for its picture.

  screen_test.py EXAMPLES SUPPORT SCREEN SERVICE TOOL Pipe Terminal | Picture
      exit status 77: not run, dbus-daemon (for Picture: or chromium) is missing
"""

import os
import shutil
import struct
import subprocess
import sys
import tempfile
import termios
import unittest
import uuid
from pathlib import Path

EXAMPLES, SUPPORT, *COMMAND = (sys.argv.pop(1) for _ in range(5))
sys.dont_write_bytecode = True
sys.path[:0] = [f"{SUPPORT}/player", SUPPORT]

from browser import PROGRAM  # noqa: E402
from client import Client  # noqa: E402
from player import Program  # noqa: E402

MARK = "NIGHTLATCH_SCREEN_TEST"


def left_running(mark: str) -> list[str]:
    """Processes that were started with this mark in their environment [proc_pid_environ(5)]."""
    found = []
    for process in Path("/proc").glob("[0-9]*"):
        try:
            if f"{MARK}={mark}".encode() in (process / "environ").read_bytes().split(b"\0"):
                found.append((process / "cmdline").read_text().replace("\0", " "))
        except OSError:
            pass  # it has ended, or is another account's
    return found


class ScreenTest(unittest.TestCase):
    def start(self, *command: object, keys: int) -> None:
        self.mark = uuid.uuid4().hex
        self.screen = self.enterContext(Program(*command, environment={**os.environ, MARK: self.mark},
                                                stdin=keys))

    def read_page(self) -> None:
        self.address = self.screen.wait_for_line("http://").strip()
        self.page = self.enterContext(Client(self.address)).send("events")
        self.page.cue("rest")

    def check_end(self) -> None:
        self.assertEqual(self.screen.end(), 0)
        self.assertIn("nothing is left running", self.screen.said[-2])
        self.assertEqual(left_running(self.mark), [])


class Pipe(ScreenTest):
    def key(self, key: str) -> None:
        self.screen.process.stdin.write(key)
        self.screen.process.stdin.flush()

    def call_off(self) -> None:
        """By the page where it may; without polkit only root may."""
        if os.geteuid() != 0:
            self.key("p")
            self.page.cue("waiting")
            self.key("l")
            return
        with Client(self.address) as button:
            button.send("call-off", "POST", Origin=f"http://{button.own}", X_Nightlatch="call-off")
            self.assertEqual(button.status(), 204)

    def test_a_hold_is_followed_to_its_countdown_and_called_off(self) -> None:
        self.start(*COMMAND, keys=subprocess.PIPE)
        self.read_page()
        self.key("ppp")  # as from a key that is held down: one press
        self.page.cue("holding")
        self.assertEqual(self.page.cue("ready")["stage"], "write now")
        self.assertEqual(self.page.cue("ready")["stage"], "off")
        self.key("l")
        self.assertTrue(self.page.cue("countdown")["dry"])
        self.call_off()
        self.page.cue("rest")
        self.assertEqual(len(left_running(self.mark)), 5)  # screen, bus, service, bridge, follow
        self.key("q")
        self.check_end()


class Terminal(ScreenTest):
    def setUp(self) -> None:
        self.person, self.terminal = os.openpty()
        self.addCleanup(os.close, self.terminal)
        self.before = termios.tcgetattr(self.terminal)
        self.start("setsid", "--ctty", *COMMAND, keys=self.terminal)
        self.read_page()
        os.write(self.person, b"p")  # no Enter
        self.page.cue("holding")

    def test_control_c_in_mid_hold_ends_all_and_gives_the_terminal_back(self) -> None:
        os.write(self.person, b"\3")
        self.check_end()
        self.assertEqual(termios.tcgetattr(self.terminal), self.before)
        os.close(self.person)

    def test_a_terminal_that_is_closed_leaves_nothing_behind(self) -> None:
        os.close(self.person)
        self.check_end()


class Picture(ScreenTest):
    def test_it_shows_a_hold_of_two_seconds(self) -> None:
        with tempfile.TemporaryDirectory() as room:
            file = Path(room) / "page.png"
            self.start(*COMMAND, "--picture", file, keys=subprocess.DEVNULL)
            self.screen.wait_for_line("held for 1 s")
            self.screen.wait_for_line("let go after 2.")
            self.screen.wait_for_line(str(file))
            self.check_end()
            data = file.read_bytes()
        # [PNG specification, 5.2 and 11.2.2: signature, then IHDR with width and height]
        self.assertEqual(data[:8], b"\x89PNG\r\n\x1a\n")
        self.assertEqual(struct.unpack(">II", data[16:24]), (800, 480))


if __name__ == "__main__":
    for name, found in (("dbus-daemon", shutil.which("dbus-daemon")),
                        ("chromium", PROGRAM or "Picture" not in sys.argv)):
        if not found:
            print(f"not run: {name} is not installed")
            sys.exit(77)
    unittest.main()
