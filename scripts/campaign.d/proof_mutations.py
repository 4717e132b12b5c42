# SPDX-License-Identifier: MIT
"""The core, broken on purpose in one way after the other (scripts/mutate --proofs): does its search find
a counter-example? What came of each is kept."""

import subprocess

from part import Result, Size
from stage import TOP

SIZE = Size(60, 0, "s a run")
INSTEAD = "one of them: scripts/mutate --proofs WORD"
PROMISE = "each mutation of the core has a counter-example, or a reason and the test that notices it"
MEASURES = ("lib/base", "lib/core", "scripts/check.d", "scripts/mutate", "tests/proof", "tests/property",
            "tests/support", "tests/unit/core")


def run(seconds: int) -> Result:
    said = []
    with subprocess.Popen([TOP / "scripts/mutate", "--proofs", f"--seconds={seconds}"],
                          stdout=subprocess.PIPE, text=True) as mutate:
        for line in mutate.stdout:
            print(f"  {line}", end="", flush=True)
            said.append(line.strip())
    missed = [" ".join(line.split()) for line in said if "  !!  " in line]
    if not said or mutate.returncode != (1 if missed else 0):
        raise RuntimeError(f"scripts/mutate ended with {mutate.returncode}")
    return Result(said[-1], missed)
