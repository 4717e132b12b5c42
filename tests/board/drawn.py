# SPDX-License-Identifier: MIT
"""Scenarios of which there are as many as are asked for: scripts/board --plugs and --flushes."""

import random

import guest
from qemu import SUPPLY
from scenario import SCENARIOS, scenario
from scenarios.logbook import WAYS, judge, prepared
from scenarios.logbook_disk import BOOTS, every_flush

HELD = guest.HOLD + 0.8
# Seconds from the press: to well behind the post-halt line's rise, on a machine that takes its time.
SPAN = 14.0


def _pull(run, draw):
    board = prepared(run)
    pressed = board.press()
    instant = draw.uniform(0, SPAN)
    if instant > HELD:
        board.at(pressed + HELD, board.release)
    board.cut(at=pressed + instant)
    risen = board.edges_of(SUPPLY, pressed)
    way = draw.choice(sorted(WAYS))
    run.note(f"pulled {instant:.2f} s after the press, the post-halt line had {'' if risen else 'not '}risen")
    found = judge(run, board.disk, [way])
    run.note(f"from outside: {found.end_of(found.last_run())}")


def plugs(seed, first, last):
    """Plugs pulled at random instants around a press, each with random numbers of its own."""
    for number in range(first, last + 1):
        def pulled(run, number=number):
            _pull(run, random.Random(f"{seed} {number}"))
        pulled.__name__ = f"plug_{number}_of_seed_{seed}"
        scenario("the next boot says what the disk says from outside")(pulled)
    return [name for name in SCENARIOS if name.endswith(f"_of_seed_{seed}")]


def flushes(boots):
    """What scenarios/logbook_disk does over a few boots, over so many."""
    @scenario(f"over {boots} boots instead of {BOOTS}, at every flush, what was acknowledged is there")
    def acknowledged_over_many_boots(run):
        every_flush(run, boots)
    return [acknowledged_over_many_boots.__name__]
