# SPDX-License-Identifier: MIT
"""The logbook on a disk of its own on the virtual board, over ten boots, replayed to every flush of it."""

import on_board
from part import PROGRAMS, Result, Size

SIZE = Size(10, 0, "boots")
INSTEAD = "scripts/board does it over three"
PROMISE = "at every flush all records are there that were acknowledged; at most 76 KiB a boot, unmounting too"
MEASURES = (*PROGRAMS, *on_board.MADE_OF, "systemd")


def run(boots: int) -> Result:
    return Result(*on_board.scenarios("--flushes", str(boots)))
