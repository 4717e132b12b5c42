# SPDX-License-Identifier: MIT
"""What a scenario is, what it may ask of the bench it runs on, and how its outcome is judged."""

import contextlib
import enum
import time
import traceback

from image import Failed
from metronome import Metronome

ATTEMPTS = 4  # at a scenario that was not judged, or that failed
# A case that a few jitters could turn over says nothing about the program.
MARGIN_IN_JITTERS = 5

SCENARIOS = {}


def scenario(sentence):
    """Registers a function under its name; the sentence is what it proves."""
    def register(function):
        SCENARIOS[function.__name__] = (sentence, function)
        return function
    return register


def check(condition, otherwise):
    if not condition:
        raise Failed(otherwise)


class NotJudged(Exception):
    """This machine was too slow to make what the scenario is about."""


class Outcome(enum.Enum):
    PASSED = "passed"
    FAILED = "failed"
    INCONCLUSIVE = "inconclusive"
    UNSTABLE = "unstable"  # of all attempts together: failed once, then passed twice


class Run:
    """One attempt at one scenario."""

    def __init__(self, bench, name):
        self.bench, self.name = bench, name
        self.margins, self.notes = [], []
        self.machine, self.metronome = None, None
        self.closing = contextlib.ExitStack()

    def restored(self):
        """A board that has booted with the service running, as every attempt finds it."""
        return self._open(self.bench.restore(self.name))

    def booted(self, files=None, levels=None, extra=""):
        """A board switched on with `files` laid over its disk, `levels` on its pins and `extra` source
        in its device tree."""
        machine = self.closing.enter_context(self.bench.power_on(self.name, files, extra))
        machine.levels.update(levels or {})
        machine.resume()
        machine.wait_booted()
        self._listen(machine)
        return machine

    def switched_on(self, name, disk, **parts):
        """A board with that disk, which stands still yet; `parts` as for Bench.switch_on. Nothing is timed
        on it."""
        machine = self.bench.switch_on(f"{self.name}-{name}", disk, **parts)
        return self.closing.enter_context(machine)

    def another(self, name, disk, **parts):
        """A board with that disk, booted."""
        machine = self.switched_on(name, disk, **parts)
        machine.resume()
        machine.wait_booted()
        return machine

    def _open(self, machine):
        self.closing.enter_context(machine)
        machine.resume()
        self._listen(machine)
        return machine

    def _listen(self, machine):
        self.machine, self.metronome = machine, Metronome(machine)
        self.closing.callback(self.metronome.stop)

    def margin(self, what, seconds):
        """Tells how far in time this attempt was from the point where the outcome would turn."""
        self.margins.append((seconds, what))

    def note(self, text):
        self.notes.append(text)

    def jitter(self):
        return self.metronome.jitter() if self.metronome else None

    def close(self):
        self.closing.close()


def judge(error, margins, jitter):
    """Outcome and reason of an attempt. Time that is not known well enough is neither."""
    if isinstance(error, NotJudged):
        return Outcome.INCONCLUSIVE, str(error)
    if margins and jitter is None:
        return Outcome.FAILED, "no jitter was measured, so nothing about time can be judged"
    if margins:
        seconds, what = min(margins)
        if seconds < MARGIN_IN_JITTERS * jitter:
            return Outcome.INCONCLUSIVE, (
                f"the margin of {seconds * 1e3:.0f} ms ({what}) is less than {MARGIN_IN_JITTERS} "
                f"jitters of {jitter * 1e3:.1f} ms")
    if error:
        return Outcome.FAILED, str(error)
    return Outcome.PASSED, ""


def attempt(bench, name, function):
    run, error, began = Run(bench, name), None, time.monotonic()
    try:
        function(run)
    except (Failed, NotJudged) as ended:
        error = ended
    except Exception as broken:  # the bench's own fault is a failure too, and shows where
        traceback.print_exc()
        error = broken
    finally:
        run.close()
    outcome, reason = judge(error, run.margins, run.jitter())
    return outcome, reason, run, time.monotonic() - began


def _figures(run, seconds):
    jitter = run.jitter()
    figures = [f"jitter {jitter * 1e3:.1f} ms" if jitter is not None else "jitter not measured"]
    if run.margins:
        figures.append(f"margin {min(run.margins)[0] * 1e3:.0f} ms")
    return ", ".join(figures + [f"{seconds:.1f} s"])


def together(outcomes):
    """What the attempts so far say of the scenario; None: another is needed. A first pass is enough;
    after a failure two of either kind decide, so that what comes once in a while has a name of its own."""
    passed, failed = outcomes.count(Outcome.PASSED), outcomes.count(Outcome.FAILED)
    if failed == 0 and passed == 1:
        return Outcome.PASSED
    if failed == 2:
        return Outcome.FAILED
    if passed == 2:
        return Outcome.UNSTABLE
    if len(outcomes) < ATTEMPTS:
        return None
    return Outcome.FAILED if failed else Outcome.INCONCLUSIVE


def _settle(bench, name, place):
    """Attempts the scenario until it is known what to say of it; prints each."""
    sentence, function = SCENARIOS[name]
    outcomes = []
    while together(outcomes) is None:
        outcome, reason, run, seconds = attempt(bench, name, function)
        outcomes.append(outcome)
        print(f"{place} {outcome.value}: {name}: {sentence} ({_figures(run, seconds)})", flush=True)
        for line in ([reason] if reason else []) + run.notes:
            print(f"      {line}", flush=True)
    return together(outcomes)


def play(bench, names):
    """Runs the scenarios; prints each attempt; returns the names of those that ended in each way."""
    ended = {outcome: [] for outcome in Outcome}
    for number, name in enumerate(names, 1):
        ended[_settle(bench, name, f"{number:2}/{len(names)}")].append(name)
    return ended
