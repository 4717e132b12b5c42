# SPDX-License-Identifier: MIT
"""The property tests with new seeds: each run of them draws other machines, presses and orders."""

import os
import random
import re
import subprocess

from part import PROGRAMS, Result, Size
from stage import TOP

SIZE = Size(10, 0, "seeds")
INSTEAD = "scripts/test draws one for each test"
PROMISE = "every property holds with every seed"
MEASURES = PROGRAMS + ("tests/property", "tests/support")
FAILED = re.compile(r"^\s*\d+ - (.+) \(\w+\)", re.M)


def build(environment: dict[str, str]) -> None:
    quiet = {"cwd": TOP, "env": environment, "check": True, "stdout": subprocess.DEVNULL}
    subprocess.run(["cmake", "--preset", "release"], **quiet)
    subprocess.run(["cmake", "--build", "--preset", "release", "--parallel", str(os.cpu_count()),
                    "--target", "tests/property/all"], **quiet)


def broken_by(seed: int, environment: dict[str, str]) -> list[str]:
    ran = subprocess.run(["ctest", "--preset", "release", "-L", "property", "--no-tests=error",
                          "--parallel", str(os.cpu_count())],
                         cwd=TOP, env={**environment, "SEED": str(seed)}, capture_output=True, text=True)
    if ran.returncode == 0:
        return []
    names = FAILED.findall(ran.stdout) or [f"ctest ended with {ran.returncode}: {ran.stderr.strip()[-200:]}"]
    return [f"SEED={seed}: {name}" for name in names]


def run(seeds: int) -> Result:
    environment = {**os.environ, "CMAKE_GENERATOR": "Ninja"}
    build(environment)
    broken = []
    for _ in range(seeds):
        broken += broken_by(random.getrandbits(60), environment)
    return Result(f"all property tests with {seeds} seeds", broken)
