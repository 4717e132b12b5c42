# SPDX-License-Identifier: MIT
"""The application of MOVING-IN.md, before and after.

  moving_in_test.py EXAMPLES SUPPORT [unittest options]
"""

import os
import re
import sys
import tempfile
import unittest
from pathlib import Path

EXAMPLES, SUPPORT = (Path(sys.argv.pop(1)) for _ in range(2))
sys.dont_write_bytecode = True
sys.path[:0] = [str(SUPPORT / "player"), str(EXAMPLES / "moving-in")]

from before import ButtonTimer  # noqa: E402
from player import Player, Program, announced, lasting, not_running, state  # noqa: E402

FOLDER = EXAMPLES / "moving-in"
CUES = ("rest", "waiting", "holding", "ready", "countdown", "leaving", "refused", "stuck", "fault")


class Before(unittest.TestCase):
    def test_it_asks_for_the_shutdown_after_three_seconds_by_its_own_clock(self) -> None:
        timer = ButtonTimer()
        played = ((False, 0.0), (True, 1.0), (True, 3.9), (True, 4.0), (False, 4.1), (False, 4.2))
        self.assertEqual([timer.update(*one) for one in played],
                         ["tide", "hold", "hold", "let go", "off", "tide"])

    def test_it_polls_a_line_and_calls_shutdown(self) -> None:
        room = Path(self.enterContext(tempfile.TemporaryDirectory()))
        (room / "sudo").write_text('#!/bin/sh\necho "asked: $*"\n')
        (room / "sudo").chmod(0o755)
        level = room / "level"
        level.write_text("1")
        with Program(FOLDER / "before.py", level,
                     environment={**os.environ, "PATH": f"{room}:{os.environ['PATH']}"}) as display:
            for written, screen in (("1", "tide"), ("0", "hold"), ("0", "let go"),
                                    ("1", "asked: shutdown -h now")):
                (room / "new").write_text(written)
                (room / "new").rename(level)
                display.wait_for_line(screen)
            self.assertEqual(display.end(), 0)


class After(unittest.TestCase):
    def setUp(self) -> None:
        self.player = self.enterContext(Player())
        self.player.play(state("rest"))
        self.display = self.enterContext(Program(FOLDER / "after.py", environment=self.player.environment))
        self.display.wait_for_line("tide")

    def shows(self, record: dict, screen: str) -> None:
        self.player.play(record)
        self.assertEqual(self.display.wait_for_line(""), screen)

    def test_a_hold_to_the_end(self) -> None:
        self.shows(lasting("holding", 3), "hold")
        self.shows(lasting("ready", 7, stage="off"), "let go")
        self.player.play(announced("write now"))
        self.shows(lasting("countdown", 5, stage="off"), "switching off, press to call it off")
        self.shows(state("leaving", stage="off"), "do not unplug yet")
        self.player.play(not_running())
        self.player.end()
        self.assertEqual(self.display.end(), 0)
        self.assertEqual(self.display.said, ["(end)"])  # nothing was drawn over it

    def test_what_the_old_one_never_saw(self) -> None:
        self.shows(state("refused"), "not now")
        self.shows(not_running(), "tide")
        self.shows(state("stuck"), "button stuck")
        self.shows(state("waving"), "tide")


class Page(unittest.TestCase):
    def test_it_maps_every_cue(self) -> None:
        table = (FOLDER / "MOVING-IN.md").read_text().split("## Your states, our cues")[1].split("## ")[0]
        self.assertLessEqual(set(CUES), set(re.findall(r"`([a-z]+)`", table)))

    def test_what_it_names_is_there(self) -> None:
        for name in re.findall(r"\]\(([^)]+)\)", (FOLDER / "MOVING-IN.md").read_text()):
            self.assertTrue((FOLDER / name).exists(), name)


if __name__ == "__main__":
    unittest.main()
