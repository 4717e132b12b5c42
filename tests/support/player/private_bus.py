# SPDX-License-Identifier: MIT
"""A message bus of the test's own (dbus-daemon): DBUS_SYSTEM_BUS_ADDRESS in its environment."""

import select
import subprocess
import tempfile
from pathlib import Path

from player import PATIENCE

CONFIG = """<busconfig><type>session</type><listen>unix:path={socket}</listen>
<policy context="default"><allow send_destination="*" eavesdrop="true"/><allow eavesdrop="true"/>
<allow own="*"/></policy></busconfig>
"""


class PrivateBus:
    def __init__(self) -> None:
        self.room = tempfile.TemporaryDirectory(prefix="nightlatch-bus-")
        folder = Path(self.room.name)
        (folder / "bus.conf").write_text(CONFIG.format(socket=folder / "socket"))
        self.daemon = subprocess.Popen(
            ["dbus-daemon", f"--config-file={folder / 'bus.conf'}", "--print-address", "--nofork",
             "--nopidfile"], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
            start_new_session=True)  # whoever started it ends it, Ctrl-C at a terminal does not
        told = select.select([self.daemon.stdout], [], [], PATIENCE)[0]
        address = self.daemon.stdout.readline().strip() if told else ""  # printed once it listens
        if not address:
            self.daemon.kill()
            raise AssertionError(f"in {PATIENCE} s dbus-daemon printed no address")
        self.environment = {"DBUS_SYSTEM_BUS_ADDRESS": address}

    def __enter__(self) -> "PrivateBus":
        return self

    def __exit__(self, *_: object) -> None:
        self.daemon.terminate()
        try:
            self.daemon.wait(PATIENCE)
        except subprocess.TimeoutExpired:
            self.daemon.kill()
            raise AssertionError(f"in {PATIENCE} s dbus-daemon has not ended") from None
        finally:
            self.daemon.stdout.close()
            self.room.cleanup()
