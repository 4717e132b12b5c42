# SPDX-License-Identifier: MIT
"""The unit tests, cross-built for arm64 and run on the virtual board, with its real kernel
(scripts/board --unit-tests)."""

import on_board
from part import PROGRAMS, Result, Size

SIZE = Size(1, 0, "run", fixed=True)
INSTEAD = "scripts/test runs them on this machine"
PROMISE = "each case passes on the board's processor, but those listed as ones that cannot run there"
MEASURES = (*PROGRAMS, *on_board.MADE_OF, "scripts/board-tests", "systemd", "tests/CMakeLists.txt",
            "tests/golden", "tests/support", "tests/unit")


def run(_: int) -> Result:
    return Result(*on_board.scenarios("--unit-tests"))
