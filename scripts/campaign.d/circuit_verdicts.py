# SPDX-License-Identifier: MIT
"""nightlatch circuit beside ngspice, on random circuits of each topology: the same switches, then device
equations with the thresholds where the data sheets have them. SEED=n draws others."""

import os
import re
import subprocess

from part import Result, Size
from stage import TOOL, TOP

SIZE = Size(200, 4, "circuits of each topology")
PROMISE = "with the same switches the same verdict and times; with device equations no wrong yes"
CIRCUITS = "tests/system/circuit"
MEASURES = ("CMakeLists.txt", "CMakePresets.json", "daemon/tool/circuit", "lib/base", "lib/circuit", CIRCUITS)


def run(count: int) -> Result:
    seed = os.environ.get("SEED", "1")
    ran = subprocess.run([TOP / CIRCUITS / "against_ngspice.py", "--tool", TOOL, f"--count={count}",
                          f"--seed={seed}"], stdout=subprocess.PIPE, text=True)
    print(ran.stdout, end="", flush=True)
    rows = re.findall(r"^\w+: \d+ circuits, .*$", ran.stdout, re.M)
    if not rows:
        raise RuntimeError(f"against_ngspice.py ended with {ran.returncode}")
    broken = [] if ran.returncode == 0 else [line for line in ran.stdout.splitlines() if line not in rows]
    return Result(f"seed {seed}: " + "; ".join(rows), broken)
