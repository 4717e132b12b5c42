# SPDX-License-Identifier: MIT
"""The supply circuits that the bench carries. When one lets go is not ours to say: `nightlatch
circuit` computes it, the very build that is on the board, run here by QEMU's user mode."""

import json
import pathlib
import subprocess

from image import Failed

CIRCUITS = pathlib.Path(__file__).parent / "circuits"
# Of the post-halt node in board.dtsi: when its two active levels begin, in seconds.
PULSES = (0.0, 0.3)
ANSWERED = (0, 1)  # exit statuses of `nightlatch circuit`


class SupplyCircuit:
    """Made of exactly its typical parts."""

    def __init__(self, stage, name):
        file = CIRCUITS / f"{name}.toml"
        done = subprocess.run(
            ["qemu-aarch64-static", stage / "usr/bin/nightlatch", "circuit", "--json", file],
            capture_output=True, text=True)
        if done.returncode not in ANSWERED:
            raise Failed(f"nightlatch circuit has no answer: {done.stderr.strip()}")
        typical = json.loads(done.stdout)["typical"]
        if typical["outcome"] != "stays off":
            raise Failed(f"the supply of {file.name} {typical['outcome']}")
        self.pulse = typical["pulse"]
        # From the rise of that active level, as the line is traced.
        self.lets_go_after = typical["opened_at_us"] / 1e6 - PULSES[self.pulse - 1]
