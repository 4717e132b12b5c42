#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""How long a store carries a load, beside ngspice, on random stores: capacitor, ESR, and a load of
constant power (a behavioural source) or current. Within 0.5 %, none left out."""

import argparse
import shutil
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

ALLOWED = 0.005


def falls_through(path: Path, level: float) -> float:
    rows = [[float(word) for word in line.split()] for line in path.read_text().splitlines()]
    for (before, high), (time, low) in zip(rows, rows[1:]):
        if high > level >= low:
            return before + (high - level) / (high - low) * (time - before)
    return 0.0 if rows[0][1] <= level else float("inf")


def simulate(folder: Path, number: str, level: float) -> float:
    subprocess.run(["ngspice", "-b", f"{number}.cir"], cwd=folder, capture_output=True, timeout=60,
                   check=False)
    return falls_through(folder / number, level)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--decks", required=True, help="the program that writes them")
    parser.add_argument("--count", type=int, default=40, help="stores (%(default)s)")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    if shutil.which("ngspice") is None:
        print("ngspice is not installed: scripts/setup installs it")
        return 1
    with tempfile.TemporaryDirectory() as made:
        done = subprocess.run([asked.decks, made, str(asked.count), str(asked.seed)], check=True,
                              capture_output=True, text=True)
        rows = [line.split("\t") for line in done.stdout.splitlines()]
        with ThreadPoolExecutor(2) as workers:
            theirs = list(workers.map(lambda row: simulate(Path(made), row[0], float(row[2])), rows))
    differences = [abs(time - float(row[1])) / float(row[1]) for row, time in zip(rows, theirs)]
    print(f"seed {asked.seed}, {len(rows)} stores, largest difference {max(differences):.3%}")
    return 1 if len(rows) < asked.count or max(differences) > ALLOWED else 0


if __name__ == "__main__":
    sys.exit(main())
