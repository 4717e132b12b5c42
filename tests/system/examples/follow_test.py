# SPDX-License-Identifier: MIT
"""The examples that follow `nightlatch follow`: shell, Python, JavaScript.

  follow_test.py EXAMPLES SUPPORT [unittest options]
"""

import shutil
import sys
import tempfile
import unittest
from pathlib import Path

EXAMPLES, SUPPORT = (Path(sys.argv.pop(1)) for _ in range(2))
sys.dont_write_bytecode = True
sys.path.insert(0, str(SUPPORT / "player"))

from player import Player, Program, announced, lasting, not_running, state  # noqa: E402

FOLDER = EXAMPLES / "follow"
LOCKED = {"code": "locked", "who": "tide logger", "why": "writing the tide table", "text": "a block lock"}


class FollowTest(unittest.TestCase):
    def setUp(self) -> None:
        self.player = self.enterContext(Player())

    def is_told(self, *command: object) -> None:
        """What a program that prints each record has to say of a day of the tide gauge."""
        self.player.play(state("rest"))
        with Program(*command, environment=self.player.environment) as program:
            program.wait_for_line("rest")
            self.player.play(lasting("holding", 3600))
            self.assertRegex(program.wait_for_line("holding"), r"^holding, 3(600\.0|59\d\.\d) s left$")
            self.player.play(state("ready", stage="off"))
            self.assertEqual(program.wait_for_line("ready"), 'ready "off"')
            self.player.play(announced("write now"))
            program.wait_for_line("announced: write now")
            self.player.play(state("refused", stage="off", reason=LOCKED))
            self.assertEqual(program.wait_for_line("refused"),
                             'refused "off" (locked: writing the tide table)')
            self.player.play(not_running())
            program.wait_for_line("not running: no service")
            self.player.play(state("waiting"))
            program.wait_for_line("waiting")
            self.player.end()
            self.assertEqual(program.end(), 0)

    def test_python_tells_each_record(self) -> None:
        self.is_told(FOLDER / "follow.py")

    @unittest.skipUnless(shutil.which("node"), "nodejs is not installed")
    def test_javascript_tells_each_record(self) -> None:
        self.is_told("node", FOLDER / "follow.js")

    def test_the_shell_hook_logs_and_chimes(self) -> None:
        room = Path(self.enterContext(tempfile.TemporaryDirectory()))
        (room / "ready.wav").touch()
        environment = {**self.player.environment, "TIDE_LOG": str(room / "log"),
                       "TIDE_SOUNDS": str(room), "TIDE_PLAYER": "echo chime"}
        self.player.play(state("rest"))
        with Program("nightlatch", "follow", "--run", FOLDER / "on-cue.sh",
                     environment=environment) as program:
            self.player.wait_for_followers()
            self.player.play(lasting("ready", 7, stage="off"))
            self.assertEqual(program.wait_for_line("chime"), f"chime {room / 'ready.wav'}")
            for record in (state("refused", reason=LOCKED), announced("write now"), not_running(),
                           state("waving"), state("leaving", stage="off")):
                self.player.play(record)
            self.player.end()
            self.assertEqual(program.end(), 0)
        told = [line.split(" ", 2)[2] for line in (room / "log").read_text().splitlines()]
        self.assertEqual(told, ["let go now: off", "refused: a block lock", "told: write now",
                                "going down, stage: off"])


if __name__ == "__main__":
    unittest.main()
