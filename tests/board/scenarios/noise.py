# SPDX-License-Identifier: MIT
"""Disturbed lines: what never settles is told and left by itself, and a few spikes spoil no hold."""

import guest
from scenario import check, scenario
from scenarios.gestures import lose_supply
from scenarios.service import with_simulated_button

# 100 edges/s, as from a contact that chatters or a cable beside a motor: one each 10 ms for a minute.
HUM_PAUSE_US = 10_000
HUM_EDGES = 6_000  # an even number: the line ends as it began, released
# The longest that a line may be left alone before it is tried again is 60 s; then it has to settle.
BACK_WITHIN = 62
TRIAL = 60  # seconds; readable for so long, it is told to be readable again
STAGE = 1.0  # seconds; of the simulated button's one stage
# Twelve openings of 5 ms in a hold of 1.5 s: 60 ms in all, less than the release interval.
SPIKES, SPIKE_US, BETWEEN_US = 12, 5_000, 120_000
RELEASE = "160 ms"


def train(board, pull, pauses, timeout=60):
    """Turns the wire with these pauses (us) between the turns; the guest's own clock times them."""
    listed = " ".join(str(pause) for pause in pauses)
    board.tell(f"board-probe train {pull} nightlatch {listed} >/run/train", timeout)
    times = dict(line.split("=") for line in board.tell("sed -n '1p;$p' /run/train").splitlines())
    first, last = (int(stamp) for stamp in times.values())
    return (last - first) / 1e9


@scenario("100 edges a second for a minute are a fault that is told once, and so is that the line is "
          "readable again, a minute after it was opened in the 62 s after the last; a press works")
def hum_is_a_fault(run):
    board, chip = with_simulated_button(run)
    pull = chip.pull()
    used = int(guest.property_of(board, "CPUUsageNSec"))
    lasted = train(board, pull, [HUM_PAUSE_US] * (HUM_EDGES - 1), 240)
    quiet = board.now()
    faults = guest.told(board, "line_fault")
    check(len(faults) == 1, f"told {len(faults)} times: {faults}")
    share = (int(guest.property_of(board, "CPUUsageNSec")) - used) / 1e9 / lasted
    readable = guest.wait_told(board, "line_readable", BACK_WITHIN + TRIAL + 60)
    back = board.now() - quiet - TRIAL
    check(back < BACK_WITHIN, f"it came back {back:.1f} s after the last edge")
    guest.check_nothing_asked(board)
    run.note(f"{HUM_EDGES} edges in {lasted:.0f} s: {share:.1%} of a processor; back {back:.1f} s "
             f"after the last; {faults[0]}; {readable}")
    chip.hold_with_guest_clock(STAGE + 0.4)
    lose_supply(run, board, since=board.now())


@scenario("a burst of spikes inside a hold delays nothing for good: let go, the board goes off once")
def spikes_in_a_hold(run):
    board, chip = with_simulated_button(
        run, f'debounce = {{ press = "30 ms", release = "{RELEASE}" }}')
    pauses = [BETWEEN_US, SPIKE_US] * SPIKES + [BETWEEN_US]
    held = train(board, chip.pull(), pauses)
    released = board.now()
    check(held > STAGE, f"held for {held:.2f} s only")
    lose_supply(run, board, since=released)
    guest.check_asked_once(board)


@scenario("quick taps that last longer than the stage in all are no hold, and nothing happens")
def quick_taps_are_no_hold(run):
    board, chip = with_simulated_button(
        run, f'debounce = {{ press = "30 ms", release = "{RELEASE}" }}')
    lasted = train(board, chip.pull(), [70_000, 80_000] * 22 + [70_000])
    guest.wait_status(board, "rest")
    check(lasted > 3 * STAGE, f"the taps took {lasted:.2f} s only")
    guest.check_nothing_asked(board)
    run.note(f"23 taps in {lasted:.2f} s")
