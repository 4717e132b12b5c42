# SPDX-License-Identifier: MIT
"""What the GPIO character device does with edges on a real kernel: the service builds on it.

Expected figures: Linux userspace-api/gpio, gpio-v2-get-line-ioctl.rst (the default buffer holds 16
events a line, a full one drops the oldest) and gpio-v2-line-event-read.rst (sequence numbers).
"""

from guest import SERVICE, SimulatedChip
from scenario import NotJudged, check, scenario

DEFAULT_BUFFER = 16
OUR_BUFFER = 1024
STORM_SECONDS = 5
STORM = 2000  # edges/s; what the service calls a floating line


def probe(board, command):
    chip = SimulatedChip(board)
    chip.plug()
    what, *rest = command.split()
    text = board.tell(f"board-probe {what} {chip.device()} {chip.pull()} {' '.join(rest)}", 120)
    return {name: int(value) for name, value in (line.split("=") for line in text.splitlines())}


def oldest_dropped(seen, made, room):
    check(seen["made"] == made and seen["last"] == made, f"edges were merged: {seen}")
    check(seen["read"] == room, f"the buffer held {seen['read']} events, not {room}")
    check(seen["first"] == made - room + 1, f"it was not the oldest that were dropped: {seen}")
    check(seen["lost"] == made - room, f"the gap in the sequence numbers is wrong: {seen}")


@scenario("the default buffer of 16 drops the oldest events, and the sequence numbers show the gap")
def default_buffer_drops_the_oldest(run):
    oldest_dropped(probe(run.restored(), "flood 0 40"), 40, DEFAULT_BUFFER)


@scenario("a buffer of 1,024 drops the oldest only beyond 1,024")
def our_buffer_drops_the_oldest(run):
    oldest_dropped(probe(run.restored(), f"flood {OUR_BUFFER} 1100"), 1100, OUR_BUFFER)


@scenario("flat out, a buffer of 1,024 loses nothing, even with a reader that pauses 20 ms")
def our_buffer_loses_nothing(run):
    seen = probe(run.restored(), f"storm {OUR_BUFFER} {STORM_SECONDS} 20")
    if seen["per_second"] < STORM:
        raise NotJudged(f"only {seen['per_second']} edges/s were made: that is not a storm")
    check(seen["lost"] == 0, f"{seen['lost']} events were lost")
    check(seen["read"] == seen["last"] > 1000, f"the numbers do not add up: {seen}")
    check(seen["backwards"] == 0, "stamps ran backwards")
    run.note(f"{seen['per_second']} edges/s made, {seen['read']} events read, "
             f"{seen['equal']} of them equal to the one before")


@scenario("two edges before the kernel's thread runs are one event, of the same level as before")
def merged_edges_are_equal_samples(run):
    pairs = 50
    seen = probe(run.restored(), f"merge {pairs}")
    check(seen["lost"] == 0, f"{seen['lost']} events were lost")
    check(seen["read"] == pairs, f"{2 * pairs} edges in pairs gave {seen['read']} events")
    check(seen["equal"] == pairs - 1, f"{seen['equal']} of {pairs - 1} were equal samples")


@scenario("the GPIO adapter and the helper at the last moment hold against simulated chips")
def adapter_holds_against_simulated_chips(run):
    board = run.restored()
    board.tell(f"systemctl stop {SERVICE}; rm -f /run/nightlatch/guard")
    status, text = board.ask("/usr/libexec/nightlatch/gpio-board-check "
                             "/usr/lib/systemd/system-shutdown/nightlatch-wait-released", 300)
    said = text.splitlines()
    check(status == 0, f"status {status}:\n" + "\n".join(
        line for line in said if not line.startswith("ok")))
    run.note(f"{sum(line.startswith('ok') for line in said)} checks")
