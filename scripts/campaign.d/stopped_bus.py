# SPDX-License-Identifier: MIT
"""The bus stands still while the service has 60,000 changes to tell: the test of that name."""

import os
import re
import subprocess

from part import PROGRAMS, Result, Size
from stage import TOP

SIZE = Size(60_000, 0, "changes", fixed=True)
INSTEAD = "scripts/test runs all of it: ctest -R stopped_bus"
PROMISE = "at most 64 KiB more; then the newest state arrives"
MEASURES = PROGRAMS + ("tests/support", "tests/system/login", "tests/system/object")


def run(changes: int) -> Result:
    environment = {"CMAKE_GENERATOR": "Ninja", **os.environ}
    quiet = {"cwd": TOP, "env": environment, "check": True, "stdout": subprocess.DEVNULL}
    subprocess.run(["cmake", "--preset", "debug"], **quiet)
    subprocess.run(["cmake", "--build", "--preset", "debug", "--target", "stopped_bus_test",
                    "--parallel", str(os.cpu_count())], **quiet)
    ran = subprocess.run(["ctest", "--preset", "debug", "-R", "^stopped_bus$", "--no-tests=error"],
                         cwd=TOP, capture_output=True, text=True)
    said = re.findall(r"^.*(?:FAILED|REQUIRE|CHECK|-->).*$|^ +\d+ <= \d+$", ran.stdout, re.M)
    broken = [] if ran.returncode == 0 else ["; ".join(" ".join(line.split()) for line in said)]
    return Result(f"{changes} changes told to a bus that takes none", broken)
