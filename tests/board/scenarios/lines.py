# SPDX-License-Identifier: MIT
"""Choosing the button's line on a board: what the tool lists, and which line a press moves."""

import json

import guest
from scenario import check, scenario

PRESS = 1.0  # seconds, as the tool asks the person for


def watch_in_background(board, words):
    """Starts `nightlatch lines --watch` in the guest; ends when it waits for the press."""
    board.tell("systemd-run -q --unit=watching -p StandardOutput=file:/run/watching.json "
               "-p StandardError=file:/run/watching.said -p RemainAfterExit=yes "
               f"nightlatch lines --json --watch {words}\n"
               "until grep -q 'Press your button now' /run/watching.said; do sleep 0.05; done")


def watched(board):
    """What the tool answered, when it has ended by itself, with its exit status."""
    board.tell("until [[ $(systemctl show -P SubState watching) != running ]]; do sleep 0.1; done",
               90)
    status = board.tell("systemctl show -P ExecMainStatus watching")
    return int(status), json.loads(board.tell("cat /run/watching.json"))


@scenario("the list shows which lines are free for a button, who holds the others, and why those "
          "do not suit, and asks for none of them")
def lists_lines(run):
    board = run.restored()
    board.tell(f"systemctl stop {guest.SERVICE}")
    held_before = board.tell("gpioinfo --chip gpiochip0")
    status, text = board.ask("nightlatch lines")
    check(status == 0, f"the list ended with {status}: {text}")
    first, then = text.splitlines()[:2]
    check(first.endswith("suit a button."), f"the verdict is: {first}")
    check(then.startswith("Next: nightlatch lines --watch"), f"what is next is: {then}")
    rows = [row.split() for row in text.splitlines()]
    check(["1", "FRONT_BUTTON", "input", "yes"] in rows, f"FRONT_BUTTON is not listed:\n{text}")
    check("SUPPLY_RELEASE" not in text, f"the post-halt line is offered:\n{text}")
    chips = json.loads(board.tell("nightlatch lines --json"))["chips"]
    lines = {line["name"]: line for chip in chips for line in chip["lines"]}
    release = lines["SUPPLY_RELEASE"]
    check(release["suits"] == "no" and not release["free"], f"the post-halt line: {release}")
    check(any("post-halt line of /supply-release" in why for why in release["why"]),
          f"the tree's word on the post-halt line is missing: {release}")
    check(any("LED in the tree" in why for why in lines["FRONT_LED"]["why"]),
          f"the tree's word on the LED is missing: {lines['FRONT_LED']}")
    check(board.tell("gpioinfo --chip gpiochip0") == held_before, "the list changed a line")
    status, text = board.ask("nightlatch lines --watch SUPPLY_RELEASE 2>&1")
    check(status == 1 and "post-halt line" in text, f"the post-halt line is watched: {text}")
    run.note(first)


@scenario("a press on a watched line names the line, its rest level and a block that the service "
          "then runs with; while the service holds the line it is not available")
def press_names_the_line(run):
    board = run.restored()
    status, text = board.ask("nightlatch lines --watch FRONT_BUTTON 2>&1")
    check(status == 1 and "systemctl stop nightlatch" in text, f"taken from the service: {text}")
    board.tell(f"systemctl stop {guest.SERVICE}")
    watch_in_background(board, "SPARE3 FRONT_BUTTON BATTERY_LOW")
    board.press_for(PRESS)
    status, said = watched(board)
    check(status == 0 and said["ended_by"] == "pressed", f"status {status}: {said}")
    moved = [line["name"] for line in said["lines"] if line["moved"]]
    check(moved == ["FRONT_BUTTON"], f"moved: {moved}")
    check(said["button"] == {"chip": "9030000.pl061", "line": "FRONT_BUTTON", "pressed": "low",
                             "bias": "as-is"}, f"the button is {said['button']}")
    stage = '\n[[stage]]\nname = "off"\nhold = "3 s"\naction = "power-off"\n'
    guest.write(board, guest.CONFIG, said["block"] + stage)
    board.tell("nightlatch check")
    board.tell(f"systemctl start {guest.SERVICE}")
    guest.wait_status(board, "rest")
    run.note(said["block"].replace("\n", " "))
