#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""nightlatch circuit --wave before an oscilloscope that ngspice feeds: the tool's own deck, the same
with other parts in it, with noise, eight bits, an offset and any trigger; captures that show little,
and such that are none. Each case names what must be said."""

import argparse
import json
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from scope import Scope, capture, simulate

# Exact values: what is computed has no width, and what is measured must lie upon it.
EXACT = """[circuit]
supply_voltage = "5.1 V"
source_resistance = "50 mohm"
wire_resistance = "20 mohm"
contact_resistance = "20 mohm"
load_current = "0.6 A"
halt_current = "200 mA"
rail_capacitance = "2.2 mF"
cut_out = "3.0 V"
rail_leakage = "0.5 mA"
rail_bleeder = "100 ohm, 100 ohm"
line_high = "3.3 V"
line_resistance = "50 ohm"
line_current = "60 mA"
pin_limit = "16 mA"
series_resistor = "270 ohm, 270 ohm"
diode = "BAT54"
diode_factor = "0.8"
diode_leakage = "0.2 uA"
hold_capacitor = "47 uF"
hold_leakage = "0.1 uA"
bleed_resistor = "47 kohm, 47 kohm"
release_threshold = "1.3 V"
release_resistance = "3.5 ohm"
feed_resistor = "22 kohm, 22 kohm"
latch_threshold = "1.3 V"
gate_pull = "47 kohm, 47 kohm"
gate_capacitance = "1 nF"
drain_capacitance = "80 pF"
main_threshold = "0.9 V"
temperature = "25 C"
"""

COLUMNS = ["--line", "line", "--hold", "hold", "--rail", "rail"]
WHOLE = Scope(after=2.6)
SCOPES = {
    "exact": WHOLE._replace(noise=0.0, bits=0),
    "eight bits and noise": WHOLE._replace(noise=0.015),
    "an offset": WHOLE._replace(offset=0.06),
    "a trigger in the middle": WHOLE._replace(before=1.2, samples=8000),
    "a trigger at the line": WHOLE._replace(before=0.002),
    "noise of another day": WHOLE._replace(noise=0.02, seed=9),
}


class Failed(Exception):
    pass


def check(good: bool, what: str) -> None:
    if not good:
        raise Failed(what)


class Desk:
    def __init__(self, tool: str, folder: Path):
        self.tool, self.folder = tool, folder
        self.config = folder / "exact.toml"
        self.config.write_text(EXACT)
        self.waves: dict[str, dict] = {}

    def run(self, *arguments: str) -> subprocess.CompletedProcess:
        done = subprocess.run([self.tool, "circuit", "--config", str(self.config), *arguments],
                              capture_output=True, text=True, timeout=120, check=False)
        check(done.returncode in (0, 1, 2) and "Sanitizer" not in done.stderr,
              f"ended with {done.returncode}: {done.stderr[-600:]}")
        return done

    def wave(self, pattern: str = "", replacement: str = "") -> dict:
        """The deck with one line changed, simulated once."""
        if replacement not in self.waves:
            deck = self.run("--netlist").stdout
            changed = re.sub(pattern, replacement, deck) if pattern else deck
            check(not pattern or changed != deck, f"the deck has no {pattern}")
            self.waves[replacement] = simulate(changed, self.folder)
        return self.waves[replacement]

    def compare(self, text: str, *more: str, columns=None) -> tuple[int, dict, str]:
        file = self.folder / "capture.csv"
        file.write_text(text)
        arguments = ["--wave", str(file), "--probe", "none", *(columns or COLUMNS), *more]
        done = self.run("--json", *arguments)
        check(done.returncode != 2, f"refused: {done.stderr}")
        return done.returncode, json.loads(done.stdout), self.run(*arguments).stdout


def ids(answer: dict) -> list[str]:
    return [one["id"] for one in answer["found"]]


def quantity(answer: dict, name: str) -> dict:
    return next(one for one in answer["quantities"] if one["id"] == name)


def own_deck(desk: Desk) -> None:
    for name, scope in SCOPES.items():
        status, answer, page = desk.compare(capture(desk.wave(), scope))
        check(status == 0 and not answer["found"], f"{name}: {answer['found']}")
        for one in ("hold-rc", "rail-rate", "line-dies"):
            check(quantity(answer, one)["inside"] is True, f"{name}: {one}: {answer['quantities']}")
        check(answer["witnessed"].startswith("rail to 0 V, "), f"{name}: {answer['not_witnessed']}")
        check(f'nightlatch logbook --witnessed "{answer["witnessed"]}"\n' in page, page)
        check("you are the witness" in " ".join(page.split()), page)


def values_are_right(desk: Desk) -> None:
    """Against the deck's own numbers: 47 uF with 47 kohm and 0.3 uA; 200 mA, 100 ohm and 2.2 mF."""
    _, answer, _ = desk.compare(capture(desk.wave(), SCOPES["exact"]))
    tau = quantity(answer, "hold-rc")["measured"] / 1e6
    check(abs(tau / (47e-6 * 47e3) - 1.0) < 0.02, f"R C is {tau}")
    rate = quantity(answer, "rail-rate")["measured"]
    # Between 4.8 V and 3.1 V the bleeder takes 39.5 mA on average, the feed resistor 0.2 mA.
    check(abs(rate / ((0.2 + 0.0395 + 0.0002) / 2.2e-3) - 1.0) < 0.02, f"I/C is {rate}")
    died = quantity(answer, "line-dies")["measured"]
    check(abs(died - 3.3) < 0.1, f"the line died at {died}")


def other_parts(desk: Desk) -> None:
    cases = [
        (r"chold hold 0 \S+", "chold hold 0 22u", "wave-hold-rc",
         {"the hold capacitor", "the bleed resistor"}),
        (r"rbleed hold 0 \S+", "rbleed hold 0 33k", "wave-hold-rc",
         {"the hold capacitor", "the bleed resistor"}),
        (r"crail rail 0 \S+", "crail rail 0 1.5m", "wave-rail-rate",
         {"the board's current after halt", "the capacitance on the rail", "the rail's bleeder"}),
        (r"rbleeder rail 0 \S+", "rbleeder rail 0 25", "wave-rail-rate", {"the rail's bleeder"}),
        (r"(balive .*tanh\(\()\S+(-v\(rail\)\))", r"\g<1>4.3\2", "wave-line-dies",
         {"the post-halt line's high level"}),
    ]
    for pattern, replacement, found, parts in cases:
        for name in ("exact", "eight bits and noise", "an offset"):
            status, answer, _ = desk.compare(capture(desk.wave(pattern, replacement), SCOPES[name]))
            check(status == 1 and ids(answer) == [found],
                  f"{replacement}, {name}: {answer['found']}")
            named = answer["found"][0]["remedy"]
            check(all(part in named for part in parts), f"{replacement}: {named}")
            check("one wave cannot tell" in named, named)


def comes_back(desk: Desk) -> None:
    wave = desk.wave(r"chold hold 0 \S+", "chold hold 0 1u")
    for name in ("exact", "eight bits and noise"):
        status, answer, page = desk.compare(capture(wave, SCOPES[name]._replace(after=0.6)))
        check(status == 1 and "wave-came-back" in ids(answer) and "wave-hold-rc" in ids(answer),
              f"{name}: {answer['found']}")
        check(answer["witnessed"] is None and "--witnessed" not in page, page)
        for one in ("release-level", "rail-back", "line-dies", "rail-rate"):
            check(quantity(answer, one)["inside"] is True, f"{one}: {answer['quantities']}")


def little(desk: Desk) -> None:
    """What a capture does not show is said, and never guessed."""
    whole = desk.wave()
    for only, found in (("hold", "hold-rc"), ("rail", "rail-rate")):
        status, answer, _ = desk.compare(capture(whole, WHOLE), columns=["--" + only, only])
        check(status == 0 and quantity(answer, found)["inside"] is True, f"{only}: {answer}")
        check(quantity(answer, "line-dies")["measured"] is None, f"{only}: {answer}")
    status, answer, _ = desk.compare(capture(whole, WHOLE), columns=["--line", "line"])
    check(ids(answer) == ["wave-nothing"] and status == 1, f"the line alone: {answer}")
    late = capture(whole, WHOLE._replace(before=-0.5))
    status, answer, _ = desk.compare(late)
    check(quantity(answer, "rail-rate")["measured"] is None, f"late: {answer}")
    check(quantity(answer, "hold-rc")["inside"] is True, f"late: {answer}")
    check(answer["witnessed"] is None, f"late: {answer}")
    for after, why in ((0.4, "the hold capacitor still has"), (0.02, "is still at")):
        status, answer, _ = desk.compare(capture(whole, WHOLE._replace(after=after)))
        check(answer["witnessed"] is None and why in answer["not_witnessed"], f"{after}: {answer}")
    status, answer, _ = desk.compare(capture(whole, WHOLE._replace(after=0.4)),
                                     columns=["--rail", "rail"])
    check("the release is held for" in answer["not_witnessed"], f"rail alone: {answer}")


def pictures(desk: Desk) -> None:
    picture = desk.folder / "beside.svg"
    for columns, panels in ((COLUMNS, 3), (["--hold", "hold"], 1)):
        desk.compare(capture(desk.wave(), WHOLE), "--svg", str(picture), columns=columns)
        text = picture.read_text()
        check(text.count('class="held"') == panels, f"{panels} bands are wanted")
        check(text.count(">measured<") >= panels and text.count(">worst corner<") >= panels, text[:300])


def hostile(desk: Desk) -> None:
    file = desk.folder / "hostile.csv"
    good = capture(desk.wave(), WHOLE._replace(samples=200))
    lines = good.splitlines()
    refused = {
        "empty": "", "binary": "\x00\x01\xff" * 40, "names alone": lines[0] + "\n",
        "few rows": "\n".join(lines[:12]) + "\n", "no such column": good.replace("rail", "hall", 1),
        "a word": good.replace(lines[60].split(",")[2], "much"),
        "inf": good.replace(lines[60].split(",")[2], "inf"),
        "nan": good.replace(lines[60].split(",")[2], "nan"),
        "huge": good.replace(lines[60].split(",")[2], "1e300"),
        "time goes back": "\n".join(lines[:50] + lines[20:30]) + "\n",
        "a row too short": "\n".join(lines[:50] + ["1,2"] + lines[50:]) + "\n",
        "zip": "PK\x03\x04" + good, "VCD": "$timescale 1 us $end\n" + good,
        "levels": "t,line,hold,rail\n" + "".join(f"{i},{i % 2},0,1\n" for i in range(40)),
    }
    for name, text in refused.items():
        file.write_text(text)
        done = desk.run("--wave", str(file), *COLUMNS)
        check(done.returncode == 2 and done.stderr and not done.stdout, f"{name}: {done}")
    taken = {
        "flat": "t,line,hold,rail\n" + "".join(f"{i},0.01,0.02,0.03\n" for i in range(40)),
        "negative": "t,line,hold,rail\n" + "".join(f"{i},-3,-2,-5\n" for i in range(40)),
        "all at once": "t,line,hold,rail\n" + "".join(f"0,{i % 5},{i % 3},{i % 7}\n" for i in range(40)),
        "saw": "t,line,hold,rail\n" + "".join(f"{i},{i % 5},{i % 3},{i % 7}\n" for i in range(400)),
        "enormous": "t,line,hold,rail\n" + "".join(f"{i},{i}e6,{40 - i}e6,{40 - i}e6\n" for i in range(40)),
        "gaps": re.sub(r"(\n-?\d[^,]*,)[^,]+,", r"\1,", good, count=90),
        "cut off": good[:len(good) * 2 // 3].rsplit("\n", 1)[0] + "\n",
    }
    for name, text in taken.items():
        file.write_text(text)
        picture = desk.folder / "hostile.svg"
        done = desk.run("--wave", str(file), *COLUMNS, "--svg", str(picture))
        check(done.returncode in (0, 1) and picture.exists(), f"{name}: {done}")
        check("nan" not in done.stdout + picture.read_text(), f"{name}: {done.stdout}")
    done = desk.run("--wave", str(file))
    check(done.returncode == 2 and "--line, --hold and --rail" in done.stderr, done.stderr)
    done = desk.run("--wave", str(file), *COLUMNS, "--probe", "10 V")
    check(done.returncode == 2 and "--probe: " in done.stderr, done.stderr)


CASES = (own_deck, values_are_right, other_parts, comes_back, little, pictures, hostile)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--tool", required=True)
    parser.add_argument("--only", help="one case")
    asked = parser.parse_args()
    if shutil.which("ngspice") is None:
        print("ngspice is not installed: scripts/setup installs it")
        return 1
    failed = 0
    with tempfile.TemporaryDirectory() as made:
        desk = Desk(asked.tool, Path(made))
        for case in CASES:
            if asked.only not in (None, case.__name__):
                continue
            try:
                case(desk)
                print(f"{case.__name__}: as it must be")
            except Failed as why:
                failed += 1
                print(f"{case.__name__}: FAILED: {why}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
