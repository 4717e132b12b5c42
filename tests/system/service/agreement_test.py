#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The rehearsal and the simulated run tell the same of one script, event by event.

  agreement_test.py NIGHTLATCH NIGHTLATCHD SUPPORT   (SUPPORT: the folder of account.py)

The one takes no time, the other as long as the script says; the times may differ by five times what
this machine was late for a plain timer meanwhile. tests/board/scenarios/agreement.py plays the same
script on the virtual board.
"""

import subprocess
import sys
import threading
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent / "agreement"
CONFIG, SCRIPT = HERE / "nightlatch.toml", HERE / "day.presses.toml"
JITTERS = 5  # as on the virtual board
BEAT = 0.01


class Metronome:
    """How late this machine is for a timer, while something else runs."""

    def __init__(self) -> None:
        self.latest = 0.0
        self.over = threading.Event()
        self.thread = threading.Thread(target=self.beat)

    def beat(self) -> None:
        while not self.over.is_set():
            due = time.monotonic() + BEAT
            self.over.wait(BEAT)
            self.latest = max(self.latest, time.monotonic() - due)

    def __enter__(self) -> "Metronome":
        self.thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.over.set()
        self.thread.join()


def run(*command: object) -> list[str]:
    done = subprocess.run([str(word) for word in command], check=False, capture_output=True,
                          text=True, timeout=120)
    if done.returncode != 0:
        sys.exit(f"{' '.join(map(str, command))} ended with {done.returncode}:\n{done.stdout}{done.stderr}")
    return done.stdout.splitlines()


def main(tool: str, service: str) -> None:
    from account import account, difference, edge_by_edge, largest_lateness

    folded, whole = (account(run(tool, "rehearse", *all_edges, "--config", CONFIG, SCRIPT))
                     for all_edges in ([], ["--all"]))
    rehearsed = edge_by_edge(folded, whole)
    with Metronome() as metronome:
        simulated = account(run(service, "--simulated", SCRIPT, "--config", CONFIG))
    tolerance = JITTERS * max(metronome.latest, 0.001)
    print(f"{len(rehearsed)} events; the simulated run was late by at most "
          f"{largest_lateness(rehearsed, simulated) * 1e3:.1f} ms, a plain timer by "
          f"{metronome.latest * 1e3:.1f} ms")
    lanes = {told.lane for told in rehearsed}
    missing = {"button", "cue", "decision", "request", "login"} - lanes
    if missing:
        sys.exit(f"the rehearsal tells nothing of {missing}")
    told = difference(rehearsed, simulated, tolerance)
    if told:
        sys.exit(told)


if __name__ == "__main__":
    sys.path.insert(0, sys.argv[3])
    main(sys.argv[1], sys.argv[2])
