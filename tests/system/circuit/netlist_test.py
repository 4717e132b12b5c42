#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""nightlatch circuit --netlist: the deck of a circuit of each topology runs in ngspice as it is, and
stays off where the tool says so with a margin that leaves no doubt. Where the tool says that it does
not, the deck's square law may: that is the safe side."""

import argparse
import subprocess
import sys
import tempfile
from pathlib import Path

sys.dont_write_bytecode = True
sys.path.insert(0, str(Path(__file__).resolve().parent))

from circuits import TOPOLOGIES, Circuit, toml  # noqa: E402
from judge import STAYS_OFF, told  # noqa: E402
from spice import PATIENCE, read_wave  # noqa: E402
from tool import Tool  # noqa: E402

CLEAR = 0.3  # of the later time: margins from there on leave no doubt between square law and levels


def is_clear(answer: dict) -> bool:
    worst = told(answer, "worst")
    # What rests next to the level is decided by millivolts.
    rests = answer["worst"]["rail_settles_v"] > 0.5 * answer["worst"]["latch_level_v"]
    return not rests and abs(worst.hold_off - worst.rail_fall) > CLEAR * max(worst.hold_off, worst.rail_fall)


def differs(tool: Tool, circuit: Circuit, folder: Path) -> str:
    answer = tool.ask(circuit)
    (folder / "draft.toml").write_text(toml(circuit))
    with (folder / "deck").open("w") as deck:
        subprocess.run([tool.program, "circuit", "--netlist", "draft.toml"], cwd=folder, stdout=deck,
                       check=True, timeout=PATIENCE)
    ran = subprocess.run(["ngspice", "-b", "deck"], cwd=folder, capture_output=True, text=True,
                         timeout=10 * PATIENCE)
    said = ran.stdout + ran.stderr
    if "aborted" in said or "rror" in said:
        return f"ngspice says {said[-200:]}"
    wave = read_wave(folder / "nightlatch.txt")
    off = wave.drive[-1] < 0.5 * max(wave.drive)
    if off or answer["worst"]["outcome"] != STAYS_OFF or not is_clear(answer):
        return ""
    return f"the tool {told(answer, 'worst')}, and the deck does not stay off"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--tool", type=Path, required=True, help="nightlatch")
    parser.add_argument("--count", type=int, default=3, help="circuits of each topology (%(default)s)")
    asked = parser.parse_args()
    failures = []
    for topology, draw in TOPOLOGIES.items():
        for number in range(asked.count):
            circuit = draw(f"netlist-{number}")
            with tempfile.TemporaryDirectory(prefix="nightlatch-netlist-") as made:
                if text := differs(Tool(asked.tool), circuit, Path(made)):
                    failures.append(f"{topology} {circuit.seed}: {text}")
    print(*failures, sep="\n")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
