# SPDX-License-Identifier: MIT
"""What the kernel counts of a process, and the least program to hold it against."""

import os
import subprocess
import sys
import time
from pathlib import Path

TOP = Path(__file__).resolve().parents[2]
UNIT = TOP / "systemd/nightlatch.service.in"
# -DON_THE_BUS: connected to the system bus, too.
MINIMAL = """\
#include <gpiod.h>
#include <stdio.h>
#include <systemd/sd-bus.h>
#include <systemd/sd-event.h>

int main(void) {
    sd_event *event = NULL;
    if (sd_event_default(&event) < 0 || gpiod_api_version() == NULL) {
        return 1;
    }
#ifdef ON_THE_BUS
    sd_bus *bus = NULL;
    if (sd_bus_open_system(&bus) < 0 || sd_bus_attach_event(bus, event, 0) < 0) {
        return 1;
    }
#endif
    puts("ready");
    fflush(stdout);
    return sd_event_loop(event) < 0;
}
"""


def on_disk(program: Path) -> Path:
    """Until it is, the pages of a program that was just built count as written to by whoever runs it."""
    with program.open("rb") as file:
        os.fsync(file.fileno())
    return program


def minimal(*defined: str) -> Path:
    """Linked like the service: the C++ library too, used or not. Not in a temporary folder, which may
    have no disk."""
    folder = TOP / "build/measure"
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "minimal.c").write_text(MINIMAL)
    flags = subprocess.run(["pkg-config", "--cflags", "--libs", "libgpiod", "libsystemd"],
                           check=True, capture_output=True, text=True).stdout.split()
    subprocess.run(["cc", "-O2", *defined, folder / "minimal.c", "-o", folder / "minimal",
                    "-Wl,--no-as-needed", *flags, "-lstdc++"], check=True)
    return on_disk(folder / "minimal")


def unit_environment() -> dict[str, str]:
    """What the service's unit adds to its environment."""
    lines = UNIT.read_text().splitlines()
    return dict(line.split("=", 2)[1:] for line in lines if line.startswith("Environment="))


def memory(pid: int) -> dict[str, int]:
    """KiB: resident, shared code included; and written to by this process, and so its alone."""
    sums = {"resident": 0, "written": 0}
    for line in Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines():
        name, _, rest = line.partition(":")
        if name == "Rss":
            sums["resident"] = int(rest.split()[0])
        elif name == "Private_Dirty":
            sums["written"] = int(rest.split()[0])
    return sums


def wake_ups(pid: int) -> int:
    """Voluntary context switches [linux Documentation/filesystems/proc.rst]."""
    total = 0
    for status in Path(f"/proc/{pid}/task").glob("*/status"):
        for line in status.read_text().splitlines():
            if line.startswith("voluntary_ctxt_switches"):
                total += int(line.split()[1])
    return total


def processor_time(pid: int) -> int:
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return int(fields[11]) + int(fields[12])  # utime and stime, in ticks


def settled(pids: list[int]) -> None:
    """Waits until none of the processes has woken up for a second."""
    before: list[int] = []
    for _ in range(30):
        now = [wake_ups(pid) for pid in pids]
        if now == before:
            return
        before = now
        time.sleep(1)
    sys.exit(f"processes {pids} do not come to rest")
