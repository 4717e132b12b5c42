# SPDX-License-Identifier: MIT
"""Measuring a button's bounce on a board: a simulated chip bounces in a known way, and the tool
finds that out from the kernel's stamps."""

import json

import guest
from scenario import check, scenario

PRESSES = 3
CLOSING = [4000, 6000, 3000, 2000]  # microseconds between the edges of a press: five edges
OPENING = [9000, 5000]              # of a release: three
HOLD = 1_000_000
# The kernel stamps a simulated edge in an interrupt of its own, right after the write that makes it
# (Linux kernel/irq/irq_sim.c).
AFTER_THE_WRITE = 1000


def measure_in_background(board, words):
    """Starts `nightlatch bounce` in the guest; ends when it waits for presses."""
    board.tell("systemd-run -q --unit=bouncing -p StandardOutput=file:/run/bounce.json "
               "-p StandardError=file:/run/bounce.said -p RemainAfterExit=yes "
               f"nightlatch bounce --json {words}\n"
               "until grep -q 'Press your button now' /run/bounce.said; do sleep 0.05; done")


def measured(board):
    """What the tool answered, when it has ended by itself, with its exit status."""
    board.tell("until [[ $(systemctl show -P SubState bouncing) != running ]]; do sleep 0.1; done",
               150)
    status = board.tell("systemctl show -P ExecMainStatus bouncing")
    return int(status), json.loads(board.tell("cat /run/bounce.json"))


def bounce_once(board, pull):
    """One press with its release; the times before and after each edge, in microseconds."""
    pauses = " ".join(str(pause) for pause in [*CLOSING, HOLD, *OPENING])
    text = board.tell(f"board-probe train {pull} nightlatch {pauses}; sleep 0.5")
    said = dict(line.split("=") for line in text.splitlines())
    edges = len(CLOSING) + len(OPENING) + 2
    return [(int(said[f"before{n}"]) / 1e3, int(said[f"after{n}"]) / 1e3) for n in range(edges)]


def pauses_of(edges):
    """The shortest and the longest that each pause between successive edges can have been."""
    return [(later[0] - earlier[1], later[1] - earlier[0])
            for earlier, later in zip(edges, edges[1:])]


def check_longest(what, told, bounds):
    least = max(low for low, _ in bounds)
    most = max(high for _, high in bounds) + AFTER_THE_WRITE
    check(least - AFTER_THE_WRITE <= told <= most,
          f"{what}: told {told:.0f} us, made between {least:.0f} and {most:.0f} us")


@scenario("the bounce that the tool measures on a line is the one that was made, edge for edge, "
          "and the debounce that it advises is taken by the service's own configuration")
def bounce_is_measured(run):
    board = run.restored()
    chip = guest.SimulatedChip(board)
    chip.plug()
    pull = chip.pull()
    measure_in_background(board, f"--presses {PRESSES} {chip.label} {chip.line}")
    trains = [bounce_once(board, pull) for _ in range(PRESSES)]
    status, said = measured(board)
    check(status == 0 and said["ended_by"] == "enough", f"status {status}: {said}")
    check(said["pressed"] == "high", f"a line pulled down is pressed {said['pressed']}")
    check(said["merged"] == 0 and said["lost"] == 0, f"edges went missing: {said}")
    # Closed and open pauses take turns; the contact closes with the first edge.
    closing = [pauses_of(edges[:len(CLOSING) + 1]) for edges in trains]
    opening = [pauses_of(edges[len(CLOSING) + 1:]) for edges in trains]
    for name, made, pauses, first in (("pressing", closing, CLOSING, "closed"),
                                      ("letting_go", opening, OPENING, "open")):
        tally, second = said[name], "open" if first == "closed" else "closed"
        check(tally["times"] == PRESSES, f"{name}: {tally['times']} of {PRESSES}")
        check(tally["most_edges"] == len(pauses) + 1 and
              tally["edges"] == PRESSES * (len(pauses) + 1), f"{name}: {tally}")
        for level, step in ((first, 0), (second, 1)):
            check_longest(f"{name}, {level}", tally[f"longest_pause_{level}_us"],
                          [bounds for one in made for bounds in one[step::2]])
    advice = said["advice"]
    for interval, tally in (("press_us", "pressing"), ("release_us", "letting_go")):
        longest = max(said[tally]["longest_pause_closed_us"], said[tally]["longest_pause_open_us"])
        check(advice[interval] >= 2 * longest, f"{interval}: {advice}, longest pause {longest} us")
    stage = '[[stage]]\nname = "off"\nhold = "3 s"\naction = "power-off"\n'
    guest.write(board, "/run/advised.toml",
                f'[button]\nchip = "{chip.label}"\nline = "{chip.line}"\npressed = "high"\n'
                f"{advice['block']}\n\n{stage}")
    answer = board.tell("nightlatch check --json /run/advised.toml || true")
    check(json.loads(answer)["settings"], f"the advice is not taken: {answer}")
    run.note(advice["block"])


@scenario("while the service holds the button's line the tool says who has it and how to measure "
          "all the same, and nothing changes")
def service_holds_the_line(run):
    board = run.restored()
    before = board.tell("gpioinfo --chip gpiochip0")
    status, text = board.ask("nightlatch bounce 2>&1")
    check(status == 1 and "systemctl stop nightlatch" in text and
          "systemctl start nightlatch" in text, f"status {status}: {text}")
    check(board.tell("gpioinfo --chip gpiochip0") == before, "a line was changed")
    guest.wait_status(board, "rest")
