# SPDX-License-Identifier: MIT
"""How long after a cue began a reader of `nightlatch follow --json` has its line, and that it has each
cue; as has the reader of a plain `nightlatch follow` beside it."""

import json
import tempfile
import time
from math import ceil
from pathlib import Path

from metronome import Metronome
from part import PROGRAMS, STAGE, Result, Size, without_worst
from player import Program, now
from stage import TOOL, Stage, wait_until

SIZE = Size(1000, 50, "cues")
PROMISE = "each cue told, in order; 99 % within 10 ms of its begin"
MEASURES = PROGRAMS + STAGE
MOST_MS = 10.0
MOST_JITTER_MS = 4.0
WAKE_UPS = 8  # service, bus, follower, bus (for the level), service, bus, follower, reader
PRESS_MS = 10  # the debounce interval: `since` of a hold is the press's begin
SHORTEST_MS = 30  # for which a cue is shown here
CONFIG = f"""[button]
chip = "soc-gpio"
line = "LID_BUTTON"
pressed = "low"
debounce = {{ press = "{PRESS_MS} ms", release = "20 ms" }}
[[stage]]
name = "write now"
hold = "60 ms"
action = "announce"
[[stage]]
name = "off"
hold = "5 s"
action = "power-off"
"""


class Reader(Program):
    """Notes when each line came."""

    def _read(self) -> None:
        self.cues: list[tuple[int, dict]] = []
        for line in self.process.stdout:
            at = now()
            record = json.loads(line)
            if "cue" in record:
                self.cues.append((at, record))
            with self.changed:
                self.said.append(line)
                self.changed.notify_all()


def press(stage: Stage, times: int) -> None:
    """Each is three cues: holding, ready, rest. Slower than what counts as a disturbed line, and at
    ever another moment of the clocks that a machine may have."""
    due = time.monotonic()
    for number in range(times):
        stage.types(f"press {80 + number % 17} ms")
        due += 0.25 + 0.003 * (number % 7)
        time.sleep(max(0.0, due - time.monotonic()))


def cues_told(stage: Stage) -> list[str]:
    """By the service's own account, since the first press."""
    told = stage.told()
    first = next((number for number, one in enumerate(told) if one.lane == "button"), len(told))
    return [one.text.split(",")[0] for one in told[first:] if one.lane == "cue"]


def cues_in(words: Program) -> list[str]:
    """Those that a person reads on a pipe, since the state that it began with."""
    return [line.split(":")[0] for line in words.said if not line.startswith("announced: ")]


def delay_ms(at: int, record: dict) -> float:
    began = record["since"] + (PRESS_MS * 1000 if record["cue"] == "holding" else 0)
    return (at - began) / 1e3


def spread(values: list[float], share: float) -> str:
    return (f"{without_worst(values, 0.5):.1f}, {without_worst(values, share):.1f}, "
            f"{max(values):.1f} ms")


def missed(told: list[str], seen: list[str], form: str) -> list[str]:
    if seen == told:
        return []
    at = next((at for at, (one, other) in enumerate(zip(told, seen)) if one != other),
              min(len(told), len(seen)))
    return [f"{form}: the service showed {len(told)} cues, the follower {len(seen)}; it differs from "
            f"cue {at + 1} on"]


def judge(told: list[str], seen: list[tuple[int, dict]], words: list[str],
          late: list[float]) -> Result:
    delays = [delay_ms(at, record) for at, record in seen]
    share = ceil(0.99 * len(delays)) / len(delays)  # of few, that is all
    p99, jitter = without_worst(delays, share), without_worst(late, share)
    broken, unclear = [], []
    wrong = missed(told, [record["cue"] for _, record in seen], "--json") + missed(told, words, "words")
    (unclear if max(late) >= SHORTEST_MS else broken).extend(wrong)
    if jitter > MOST_JITTER_MS or MOST_MS < p99 <= WAKE_UPS * jitter:
        unclear.append(f"a plain timer was {jitter:.1f} ms late here, and of such wake-ups a cue needs "
                       f"{WAKE_UPS}")
    elif p99 > MOST_MS:
        broken.append(f"99 % within {p99:.1f} ms, more than {MOST_MS:.0f} ms")
    return Result(f"{len(seen)} of {len(told)} cues; p50, p99, max {spread(delays, share)}; "
                  f"a timer beside it {spread(late, share)}", broken, unclear)


def run(cues: int) -> Result:
    presses = ceil(cues / 3)
    with tempfile.TemporaryDirectory(prefix="nightlatch-") as folder:
        config = Path(folder) / "nightlatch.toml"
        config.write_text(CONFIG)
        with Stage(config) as stage:
            reader = stage.follower(Reader)
            words = stage.program(TOOL, "follow")
            words.wait_for_line("rest: ")
            before = len(reader.cues)  # it may have begun with `waiting`
            with Metronome() as metronome:
                press(stage, presses)
                wait_until(lambda: len(cues_told(stage)) >= 3 * presses)
                told = cues_told(stage)
                wait_until(lambda: len(reader.cues) >= before + len(told))
                wait_until(lambda: len(cues_in(words)) >= len(told))
            result = judge(told, reader.cues[before:], cues_in(words), metronome.late)
    if len(told) < cues:  # pressed too late, and so too close to the one before
        result.unclear.append(f"only {len(told)} cues came of {presses} presses")
    return result
