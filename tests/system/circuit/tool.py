# SPDX-License-Identifier: MIT
"""Asks nightlatch circuit, from outside."""

import json
import subprocess
import tempfile
from pathlib import Path

from circuits import Circuit, toml


class Refused(RuntimeError):
    """It has no answer for a circuit that is one."""


class Tool:
    def __init__(self, program: Path) -> None:
        self.program = program

    def ask(self, circuit: Circuit) -> dict:
        with tempfile.NamedTemporaryFile("w", suffix=".toml", prefix="nightlatch-circuit-") as file:
            file.write(toml(circuit))
            file.flush()
            done = subprocess.run([self.program, "circuit", "--json", "--no-advice", file.name],
                                  capture_output=True, text=True, timeout=120)
        if done.returncode not in (0, 1):
            raise Refused(f"{circuit.topology} {circuit.seed}: {done.stderr.strip()}")
        return json.loads(done.stdout)
