# SPDX-License-Identifier: MIT
"""One press script, rehearsed in virtual time and played on the board: both tell the same, event by
event. (tests/system/service/agreement_test.py compares the rehearsal with the simulated run.)"""

import pathlib
import sys

import guest
from image import journal_entries
from qemu import LED
from scenario import MARGIN_IN_JITTERS, check, scenario
from scenarios.gestures import lose_supply

_TESTS = pathlib.Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(_TESTS / "support"))
from account import Told, account, difference, edge_by_edge  # noqa: E402

SCRIPT = _TESTS / "system/service/agreement/day.presses.toml"
CONFIG = _TESTS / "system/service/agreement/nightlatch.toml"
# What the script keeps from every threshold: its shortest way is from the shortest press that counts
# to the press interval.
CLEAR = 0.6
JOURNAL_LANES = ("", "decision", "request", "warning")
LIT = ("holding", "countdown")


def play(board, edges, start):
    for told in edges:
        board.at(start + told.at, board.press if told.text == "pressed" else board.release)


def lamp(cues):
    """When the lamp goes on and off, as the cues say."""
    levels, before = [], 0
    for told in cues:
        level = int(told.text.split()[0].rstrip(",") in LIT)
        if level != before:
            levels.append(Told(told.at, "lamp", "on" if level else "off"))
        before = level
    return levels


def told_by_journal(board):
    """What the service said once it watched the line, and when by the guest's clock."""
    entries = journal_entries(board.disk, f"_SYSTEMD_UNIT={guest.SERVICE}", "-b")
    watching = max(number for number, entry in enumerate(entries)
                   if entry["MESSAGE"].startswith("watching line"))
    return [Told(int(entry["__MONOTONIC_TIMESTAMP"]) / 1e6, "", entry["MESSAGE"])
            for entry in entries[watching + 1:]]


def from_least_late(expected, seen):
    """The two clocks have no common zero: the event that came least late is taken to be on time."""
    zero = min((have.at - want.at for want, have in zip(expected, seen)), default=0.0)
    return [have._replace(at=have.at - zero) for have in seen]


def agree(run, what, expected, seen):
    seen = from_least_late(expected, seen)
    tolerance = MARGIN_IN_JITTERS * run.jitter()
    told = difference(expected, seen, tolerance)
    check(not told, f"{what}: {told}")
    late = max(have.at - want.at for want, have in zip(expected, seen))
    run.note(f"{what}: {len(expected)} events agree, the latest {late * 1e3:.1f} ms late")


@scenario("what a rehearsal tells of a script is what the board does with it: each decision, each "
          "cue on the lamp, the request, in order and in time")
def rehearsal_agrees(run):
    board = run.restored()
    guest.configure(board, CONFIG.read_text())
    guest.write(board, "/run/day.presses.toml", SCRIPT.read_text())
    guest.wait_status(board, "rest")
    rehearsed = edge_by_edge(*(account(board.tell(f"nightlatch rehearse {all_edges} /run/day.presses.toml")
                                       .splitlines()) for all_edges in ("", "--all")))
    run.margin("every bounce and tap from the interval it must not reach", CLEAR)
    start = board.now() + 0.5
    play(board, [told for told in rehearsed if told.lane == "button"], start)
    supply = lose_supply(run, board, since=start)
    run.metronome.stop()
    asked = max(told.at for told in rehearsed if told.lane == "request")
    begun = min(told.at for told in rehearsed if told.lane == "button")
    expected = [told._replace(lane="") for told in rehearsed
                if told.lane in JOURNAL_LANES and begun <= told.at <= asked]
    seen = told_by_journal(board)
    agree(run, "journal", expected, seen[:len(expected)])
    check(any("going down" in told.text for told in seen[len(expected):]),
          "the journal does not say that the board went down")
    lit = [Told(edge.at - start, "lamp", "on" if edge.level else "off")
           for edge in board.edges_of(LED, start) if edge.at < supply.at]
    expected_lamp = lamp(told for told in rehearsed if told.lane == "cue" and told.at <= asked)
    agree(run, "lamp", expected_lamp, lit[:len(expected_lamp)])
