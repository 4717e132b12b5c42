# SPDX-License-Identifier: MIT
"""Runs ngspice on a deck."""

import subprocess
import tempfile
from pathlib import Path
from typing import NamedTuple

from decks import OPTIONS, deck
from values import Values

PATIENCE = 10  # s, for a deck that takes a tenth


class Wave(NamedTuple):
    time: list[float]
    rail: list[float]
    hold: list[float]
    drive: list[float]


class GaveUp(RuntimeError):
    """With none of the options it came to the end."""


def read_wave(path: Path) -> Wave:
    rows = [[float(word) for word in line.split()] for line in path.read_text().splitlines()]
    return Wave(*(list(column) for column in zip(*rows)))


def simulate(values: Values, models: str) -> Wave:
    said = ""
    with tempfile.TemporaryDirectory(prefix="nightlatch-deck-") as made:
        folder = Path(made)
        for options in OPTIONS:
            (folder / "deck").write_text(deck(values, models, "wave", options))
            try:
                done = subprocess.run(["ngspice", "-b", "deck"], cwd=folder, capture_output=True, text=True,
                                      timeout=PATIENCE)
            except subprocess.TimeoutExpired:
                said = "no end"
                continue
            said = done.stdout + done.stderr
            if "aborted" not in said and "rror" not in said and (folder / "wave").exists():
                return read_wave(folder / "wave")
            (folder / "wave").unlink(missing_ok=True)
    raise GaveUp(said[-400:])
