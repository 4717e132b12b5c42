# SPDX-License-Identifier: MIT
"""The arm64 package of the last commit on the virtual board, under Debian 12 and 13: installed, upgraded,
removed, purged (scripts/board --packages)."""

import subprocess

import on_board
from part import PROGRAMS, Result, Size
from stage import TOP

SUITES = ("bookworm", "trixie")
SIZE = Size(len(SUITES), 0, "suites", fixed=True)
INSTEAD = "scripts/board runs the same programs and units, installed without the package"
PROMISE = "a hold powers off after installing and upgrading; a purge leaves its account and a group"
MEASURES = (*PROGRAMS, *on_board.MADE_OF, "LICENSE", "README.md", "config", "scripts/board-package",
            "scripts/build-root.sh", "scripts/package", "scripts/package.d", "scripts/roots.sh", "systemd")


def run(_: int) -> Result:
    changed = subprocess.run(["git", "status", "--porcelain", "--", *MEASURES], cwd=TOP, check=True,
                             capture_output=True, text=True).stdout.strip()
    if changed:
        raise RuntimeError(f"the package is the last commit's: commit first ({changed.splitlines()[0]} …)")
    ran = [on_board.scenarios("--packages", suite) for suite in SUITES]
    return Result("; ".join(one.counts for one in ran), sum((one.broken for one in ran), []),
                  sum((one.unclear for one in ran), []))
