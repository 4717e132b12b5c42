# SPDX-License-Identifier: MIT
"""The examples on the bus: followers of the service's object in Python and C++, and the application
that saves its data before the machine goes down.

  bus_test.py EXAMPLES SUPPORT BUS_PROGRAM [unittest options]
      exit status 77: not run, python3-dbus-next is missing
"""

import faulthandler
import importlib.util
import os
import re
import shutil
import subprocess
import sys
import tempfile
import unittest
from pathlib import Path

EXAMPLES, SUPPORT, BUS_PROGRAM = (Path(sys.argv.pop(1)) for _ in range(3))
sys.dont_write_bytecode = True
sys.path.insert(0, str(SUPPORT / "player"))

from player import PATIENCE, Player, Program, announced, lasting, not_running, state  # noqa: E402
from private_bus import PrivateBus  # noqa: E402

RUN = 15_000  # readings
ANSWERS_IN_A_PIPE = 65_536 // len("kept 1234\n")


class FollowsTheBus(unittest.TestCase):
    def follows(self, *command: object, tells_announced: bool) -> None:
        with PrivateBus() as bus, Player() as player:
            environment = {**player.environment, **bus.environment}
            with Program(SUPPORT / "player" / "on_bus.py", environment=environment), \
                    Program(*command, environment=environment) as program:
                player.wait_for_followers()
                program.wait_for_line("not running")
                player.play(state("rest"))
                program.wait_for_line("rest")
                player.play(lasting("ready", 7, stage="off"))
                program.wait_for_line("ready off")
                if tells_announced:
                    player.play(announced("write now"))
                    program.wait_for_line("announced: write now")
                player.play(state("leaving", stage="off"))
                program.wait_for_line("leaving off")
                player.play(not_running())
                program.wait_for_line("not running")
                player.play(state("waiting"))
                program.wait_for_line("waiting")

    def test_python_by_a_packaged_library(self) -> None:
        self.follows(EXAMPLES / "follow" / "bus.py", tells_announced=True)

    def test_cpp_by_sd_bus(self) -> None:
        self.follows(BUS_PROGRAM, tells_announced=False)

    def test_cpp_is_built_by_the_command_that_it_names(self) -> None:
        source = EXAMPLES / "follow" / "bus.cpp"
        command = re.search(r"^// +(g\+\+ .*)$", source.read_text(), re.M)[1]
        with tempfile.TemporaryDirectory() as room:
            shutil.copy(source, room)
            subprocess.run(["sh", "-c", command.replace("g++", "g++ -Wall -Wextra -Werror", 1)], cwd=room,
                           check=True, timeout=PATIENCE)
            self.assertTrue((Path(room) / "bus").exists())


class SavesItsData(unittest.TestCase):
    def setUp(self) -> None:
        self.bus = self.enterContext(PrivateBus())
        self.room = Path(self.enterContext(tempfile.TemporaryDirectory()))
        self.file = self.room / "readings"

    def program(self, *command: object, **options: object) -> Program:
        return self.enterContext(Program(*command, environment={**os.environ, **self.bus.environment},
                                         stdin=subprocess.PIPE, **options))

    def manager(self) -> Program:
        manager = self.program(SUPPORT / "player" / "login_manager.py")
        manager.wait_for_line("here")
        manager.say(str(self.file))
        return manager

    def readings(self, *before: object) -> Program:
        return self.program(*before, EXAMPLES / "saving" / "tide-readings.py", self.file)

    def test_what_was_acknowledged_is_in_the_file_when_the_lock_is_released(self) -> None:
        manager = self.manager()
        readings = self.readings()
        readings.wait_for_line("protected")
        manager.wait_for_line("Inhibit shutdown tide readings delay")
        for number in (1, 2):
            readings.say(f"1.2{number}")
            readings.wait_for_line(f"kept {number}")
        self.assertFalse(self.file.exists())
        manager.say("true")
        self.assertEqual(manager.wait_for_line("released"), "released: 1.21 1.22")
        readings.process.kill()  # as the end of the machine does
        self.assertEqual(self.file.read_text(), "1.21\n1.22\n")

    def test_a_run_of_readings_does_not_keep_the_shutdown_waiting(self) -> None:
        """Nobody reads its answers any more after "kept 1", so that it stands in the middle of the run when
        the shutdown comes, which waits 5 s for it [logind.conf(5), InhibitDelayMaxSec]."""
        manager = self.manager()
        run = self.room / "run"
        run.write_text("1.2\n" * RUN)
        opened, gate = os.pipe()
        # Who hands the run over waits where a pipe is full, whatever it holds [pipe(7)].
        readings = self.program("bash", "-c", f"""{{ cat "$2"; exec cat; }} | "$0" "$1" | {{
            until [[ $line == 'kept 1' ]]; do read -r line || exit; echo "$line"; done
            read -r _ <&{opened}; cat; }}""", EXAMPLES / "saving" / "tide-readings.py", self.file, run,
                                pass_fds=[opened])
        self.addCleanup(os.close, gate)
        os.close(opened)
        readings.wait_for_line("protected")
        readings.wait_for_line("kept 1")
        manager.say("true")
        manager.wait_for_line("told")
        os.write(gate, b"open\n")
        saved = len(manager.wait_for_line("released").split()) - 1
        manager.say("false")
        manager.wait_for_line("Inhibit")  # until it has a lock again each reading is written at once
        readings.process.stdin.close()  # the end of the run: a signal would reach the shell alone
        self.assertLess(saved, RUN / 2 + ANSWERS_IN_A_PIPE / 2)

    def test_a_shutdown_that_was_given_up_has_it_take_the_lock_again(self) -> None:
        manager = self.manager()
        readings = self.readings()
        readings.wait_for_line("protected")
        readings.say("1.21")
        readings.wait_for_line("kept 1")
        for kept in ("1.21", "1.21 1.22"):
            manager.say("true")
            self.assertEqual(manager.wait_for_line("released"), f"released: {kept}")
            manager.say("false")
            manager.wait_for_line("Inhibit")
            readings.wait_for_line("protected")
            readings.say("1.22")
            readings.wait_for_line("kept")

    def test_a_login_manager_that_comes_back_is_asked_again(self) -> None:
        first = self.manager()
        readings = self.readings()
        readings.wait_for_line("protected")
        first.stop()
        self.program(SUPPORT / "player" / "login_manager.py").wait_for_line("Inhibit")
        readings.wait_for_line("protected")

    def test_without_a_login_manager_each_reading_is_written_at_once(self) -> None:
        readings = self.readings()
        readings.say("1.21")
        readings.wait_for_line("kept 1")
        self.assertEqual(self.file.read_text(), "1.21\n")

    @unittest.skipUnless(shutil.which("strace"), "strace is not installed")
    def test_the_file_then_its_name_then_the_lock(self) -> None:
        """fsync(2): the folder has to be written, too, or the name may be lost."""
        manager = self.manager()
        trace = self.room / "trace"
        readings = self.readings("strace", "-y", "-o", trace, "-e", "trace=fsync,rename,renameat,close")
        readings.wait_for_line("protected")
        readings.say("1.21")
        readings.wait_for_line("kept 1")
        manager.say("true")
        manager.wait_for_line("released")
        readings.process.stdin.close()  # strace passes no signal on
        self.assertEqual(readings.end(), 0)
        calls = [line for line in trace.read_text().splitlines()
                 if re.match(r"fsync|rename|close\(\d+<pipe:", line)]
        begin = next(number for number, line in enumerate(calls) if line.startswith("fsync"))
        seen = [re.match(r"\w+", line)[0] for line in calls[begin:begin + 4]]
        self.assertEqual(seen, ["fsync", "rename", "fsync", "close"], calls)
        self.assertIn("readings.new>", calls[begin])
        self.assertIn(f"{self.room}>", calls[begin + 2])


if __name__ == "__main__":
    if not importlib.util.find_spec("dbus_next"):
        print("not run: python3-dbus-next is not installed")
        sys.exit(77)
    faulthandler.dump_traceback_later(13 * PATIENCE, exit=True)  # before ctest's limit: where it stands
    unittest.main()
