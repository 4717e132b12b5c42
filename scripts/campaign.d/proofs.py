# SPDX-License-Identifier: MIT
"""The search of the core's states (scripts/prove): each run that has not closed yet, in its turn."""

import re
import subprocess

import kept
from part import Result, Size
from stage import TOP

SIZE = Size(600, 0, "s a run")
INSTEAD = "scripts/test has the quick ones: ctest -L proof"
PROMISE = "no run finds a counter-example; one that was cut proves nothing"
MEASURES = ("lib/base", "lib/core", "tests/proof")
LINE = re.compile(r"^(\S.*?) +(closed|CUT|VIOLATED) +(\d+) states +(\d+) transitions +([\d.]+) s +(\d+) MiB")


def prove(*words: str) -> list[str]:
    return subprocess.run([TOP / "scripts/prove", *words], stdout=subprocess.PIPE,
                          text=True).stdout.splitlines()


def search(name: str, seconds: int) -> dict:
    """What came of one run; kept, so that who goes on later need not search again."""
    said = prove(f"--seconds={seconds}", name)
    line = LINE.match(said[0] if said else "")
    if not line:
        raise RuntimeError(f"scripts/prove {name} said: {' '.join(said)[:200]}")
    found = dict(zip(("states", "transitions", "seconds", "MiB"), map(float, line.groups()[2:])))
    return {"end": line[2], "limit": seconds, "said": said[0], **found}


def run(seconds: int) -> Result:
    key = kept.key_of(MEASURES)
    names = prove("--list")
    if not names:
        raise RuntimeError("scripts/prove lists no runs")
    ends: dict[str, list[str]] = {"closed": [], "CUT": [], "VIOLATED": []}
    transitions = 0.0
    for name in names:
        place = "proofs/" + re.sub(r"\W+", "-", name)
        one = kept.read(place, key)
        if not one or one["end"] == "CUT" and one["limit"] < seconds:
            one = kept.write(place, key, search(name, seconds))
        print(f"  {one['said']}", flush=True)
        ends[one["end"]].append(name)
        transitions += one["transitions"]
    violated = [f"{name}: a counter-example: scripts/prove {name}" for name in ends["VIOLATED"]]
    cut = [f"cut, and so no proof: {', '.join(ends['CUT'])}"] if ends["CUT"] else []
    return Result(f"{len(ends['closed'])} runs closed, {len(ends['CUT'])} cut, "
                  f"{len(ends['VIOLATED'])} violated; {transitions:.3g} transitions", violated, cut)
