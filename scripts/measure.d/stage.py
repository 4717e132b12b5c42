# SPDX-License-Identifier: MIT
"""The service, dry and on a simulated chip, and those that follow it: the release build's programs on
a bus of their own. Nothing is asked of this machine."""

import os
import subprocess
import sys
import tempfile
import time
from contextlib import ExitStack
from pathlib import Path

TOP = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(TOP / "tests/support/player"))
sys.path.insert(0, str(TOP / "tests/support"))

from account import Told, account  # noqa: E402
from player import PATIENCE, Program  # noqa: E402
from private_bus import PrivateBus  # noqa: E402
from processes import on_disk, unit_environment  # noqa: E402

RELEASE = TOP / "build/release"
SERVICE = RELEASE / "daemon/service/nightlatchd"
TOOL = RELEASE / "daemon/tool/nightlatch"
TIDE_LOGGER = TOP / "config/examples/tide-logger.toml"


def build() -> None:
    """What is there already takes a second; a release build that leaves tests out goes on to."""
    quiet = {"check": True, "stdout": subprocess.DEVNULL, "cwd": TOP}
    environment = {"CMAKE_GENERATOR": "Ninja", **os.environ}
    subprocess.run(["cmake", "--preset", "release"], env=environment, **quiet)
    subprocess.run(["cmake", "--build", "--preset", "release", "--parallel", str(os.cpu_count()),
                    "--target", "nightlatchd", "nightlatch"], **quiet)
    on_disk(SERVICE)
    on_disk(TOOL)


class Stage:
    """`typed`: lines for the simulated button, as a hand would type them."""

    def __init__(self, config: Path) -> None:
        self.config = config

    def __enter__(self) -> "Stage":
        build()
        with ExitStack() as opened:
            self.folder = Path(opened.enter_context(tempfile.TemporaryDirectory(prefix="nightlatch-")))
            self.bus = opened.enter_context(PrivateBus())
            self.environment = {**os.environ, **self.bus.environment}
            said = opened.enter_context((self.folder / "commentary").open("w"))
            self.service = opened.enter_context(subprocess.Popen(
                [SERVICE, "--simulated", "-", "--config", self.config],
                env={**self.environment, **unit_environment()}, stdin=subprocess.PIPE,
                stdout=said, stderr=subprocess.STDOUT, text=True))
            opened.callback(self.service.kill)
            self.opened = opened.pop_all()
        return self

    def __exit__(self, *_: object) -> None:
        self.opened.close()

    def types(self, line: str) -> None:
        self.service.stdin.write(line + "\n")
        self.service.stdin.flush()

    def told(self) -> list[Told]:
        """The service's own account, so far."""
        return account((self.folder / "commentary").read_text().splitlines())

    def program(self, *command: object, kind: type[Program] = Program, **options: object) -> Program:
        return self.opened.enter_context(kind(*command, environment=self.environment, **options))

    def follower(self, kind: type[Program] = Program) -> Program:
        """One that has been told that the button is at rest."""
        follower = self.program(TOOL, "follow", "--json", kind=kind)
        follower.wait_for_line('"cue":"rest"')
        return follower

    def status(self) -> str:
        """What the service answers now."""
        return subprocess.run([TOOL, "status", "--json"], env=self.environment, timeout=PATIENCE,
                              capture_output=True, text=True).stdout


def wait_until(is_so) -> bool:
    """Looks again and again, for what nobody tells; False: it did not come."""
    end = time.monotonic() + PATIENCE
    while not is_so():
        if time.monotonic() > end:
            return False
        time.sleep(0.01)
    return True
